"""What to say of the figures behind a lunch: its standard's, its foods'."""

from datetime import date
from functools import lru_cache

from service.domain.cautions import status_cautions
from service.domain.lunch.check import LunchJudgement, LunchToJudge
from service.domain.lunch.standards import TargetTable
from service.domain.measures import MEASURES
from service.domain.messages import Message, message
from service.jobs.allergens.reply import not_read_cautions


@lru_cache(maxsize=256)
def table_cautions(table: TargetTable) -> tuple[Message, ...]:
    """What to say of the standard: that it is archived, that its rules were not checked up to the day."""
    known = table.standard
    said = []
    if known.historical:
        said.append(message("caution.archived-guideline", title=known.title))
    return (*said, *unchecked_day(known.id, known.checked_until, table.on))


def unchecked_day(standard_id: str, checked_until: date | None, on: date) -> list[Message]:
    """What to say of a day after the last one that a standard's rows were checked for; empty for any other day."""
    if checked_until is None or on <= checked_until:
        return []
    return [message("caution.checked-until", standard=standard_id, day=checked_until.isoformat())]


@lru_cache(maxsize=256)
def measures_used(table: TargetTable) -> frozenset[int]:
    """The measures that the targets of a table look at."""
    return frozenset(measure for target in table.targets for measure in target.measures)


@lru_cache(maxsize=256)
def _from_memory(table: TargetTable) -> tuple[str, ...]:
    """The labels of the targets whose figures are from memory."""
    return tuple(target.label for target in table.targets if target.status == "memory")


@lru_cache(maxsize=1024)
def _estimated(table: TargetTable, guessed: frozenset[int]) -> list[str]:
    """The labels of the measures that a table looks at and whose figures are estimated; not to be changed."""
    return [MEASURES[measure].label for measure in sorted(guessed & measures_used(table))]


def lunch_cautions(lunch: LunchToJudge, judged: LunchJudgement) -> list[Message]:
    """What to say of this lunch's figures: which are from memory, which estimated, whether editions meet."""
    items = lunch.items
    memory = _from_memory(lunch.table)
    memory += tuple(one.label for one in judged.rules if one.source_status == "memory")
    memory += tuple(one.id for one in judged.handling if one.source_status == "memory")
    guessed = frozenset().union(*[item.food.estimated for item in items])
    cautions = status_cautions(list(dict.fromkeys(memory)), _estimated(lunch.table, guessed))
    cautions += not_read_cautions(item.food for item in items)
    editions = {edition for item in items for edition in item.food.editions}
    if len(editions) > 1:
        cautions.append(message("caution.food-tables", names=sorted(editions)))
    if lunch.table.standard.crediting:
        uncredited = sorted({name for item in items for name in item.food.uncredited})
        if uncredited:
            cautions.append(message("caution.not-credited", names=uncredited))
    return cautions
