"""What stands on the shelves now: every entry of which there is anything, as it is shown in lists and on the page."""

from datetime import date
from uuid import UUID

from pydantic_core import to_json

from service.domain.messages import message
from service.jobs.household.records import Body
from service.jobs.household.settings import edit_settings, settings_of
from service.jobs.household.stock.entries import stored_entry, today, whole_entry
from service.jobs.household.stock.happened import entries_here
from service.jobs.household.stock.known_foods import KnownFoods
from service.reference.messages import say
from service.reference.stock.freezing import freezing_file, how_it_freezes
from service.store.household.records import Connection

BREAD = frozenset({"bread", "bread-wholemeal", "bagel", "tortilla"})
FRUIT = frozenset({"apples", "fruit-cut"})
"""Classes of what advice on freezing and browning speaks of: what has bread around it, and fruit that browns."""


def entries_shown(connection: Connection, household: UUID, on: date | None = None) -> list[Body]:
    """In the order they were stored, each with its version and until when it keeps; ``on``: the day, today if left out."""
    foods, day = KnownFoods(connection, household), on or today()
    return [whole_entry(one, foods, day) for one in entries_here(connection, household)]


def entry_shown(connection: Connection, household: UUID, entry_id: str) -> Body:
    """One entry, whether there is anything of it or not; ``NotThere`` for one that is not here."""
    return whole_entry(stored_entry(connection, household, entry_id), KnownFoods(connection, household), today())


def freezing_said(connection: Connection, household: UUID, food_id: str, language: str) -> tuple[list[str], float]:
    """What speaks against freezing a food and what to do, in sentences; and the weight of its usual portion, in grams."""
    food = KnownFoods(connection, household).food(food_id)
    found = how_it_freezes(food)
    said = [message("freezing.level", name=food.name, level=found.level)] if found.level else []
    bread = any(part.handling.storage in BREAD for part in food.made_of)
    cut = any(part.handling.storage in FRUIT for part in (food, *food.made_of))
    wanted = {"sandwich": bread, "cut_fruit": cut}
    advice = [message("freezing.advice", sentence=row.sentence) for row in freezing_file().advice if wanted[row.of]]
    return [say(one, language) for one in (*said, *found.because, *advice)], food.units[0].grams_mg / 1000


def keep_of(connection: Connection, household: UUID, food: str) -> float | None:
    """How many portions of a food are always to be in the fridge; None where no rule says so."""
    rules = settings_of(connection, household).keep_in_fridge
    return next((one.portions for one in rules if one.food == food), None)


def keep_so_many(connection: Connection, household: UUID, food: str, portions: float | None) -> None:
    """Let so many portions of a food always be in the fridge; none: the rule is taken away."""
    before = settings_of(connection, household, hold=True).keep_in_fridge
    rules = [one.model_dump() for one in before if one.food != food]
    if portions:
        rules.append({"food": food, "portions": portions})
    edit_settings(connection, household, to_json({"keep_in_fridge": rules}))
