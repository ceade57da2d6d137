"""Check one lunch of one child: figures against the standard, allergens, forms, holding, and changes.

The request is resolved (names and ids become what they stand for), the lunch is judged by one call into the domain, and
the judgement is put into words. The same lunch with its items in another order gives the same reply, but for their places.
"""

from collections.abc import Sequence

from service.domain.allergens.screening import Avoidance
from service.domain.errors import Place
from service.domain.lunch.check import PreparedItem, judge_lunch
from service.domain.lunch.findings import Judgement
from service.domain.lunch.standards import TargetTable
from service.jobs.foods.salted_water import salted_water_cautions
from service.jobs.lunch.reply import Reply, energy_need_row, lunch_reply, placed_changes
from service.jobs.lunch.resolve import SentItem, lunch_to_judge, resolve_lunch
from service.jobs.requests.lunches import HoldingConditions, LunchCheckRequest


def check_lunch(asked: LunchCheckRequest, *, on_at: Place = ("on",), lunch_at: Place = ("lunch",)) -> Reply:
    """Check one lunch. ``on_at``, ``lunch_at``: where the day and the lunch are in what the caller sent.

    Raises ``LunchError`` (``ManyFaults`` for several) for anything in the request that does not fit the
    reference data; nothing is checked in part.

    >>> asked = LunchCheckRequest.model_validate(
    ...     {
    ...         "on": "2025-09-01",
    ...         "child": {"age_years": 7, "avoids": [{"allergen": "peanut"}]},
    ...         "standard": "us-school-lunch",
    ...         "lunch": {"items": [{"food": "peanut-butter-crunchy"}, {"food": "apple"}]},
    ...         "max_changes": 0,
    ...     }
    ... )
    >>> check_lunch(asked)["verdict"]
    'do_not_pack'
    """
    lunch, sent, need = resolve_lunch(asked, on_at=on_at, lunch_at=lunch_at)
    judged = judge_lunch(lunch)
    salt = salted_water_cautions((item.food for item in lunch.items), asked.salts_cooking_water)
    reply = lunch_reply(lunch, judged, sent, salt)
    reply["energy_need"] = None if need is None else energy_need_row(need)
    if asked.child.nickname:
        reply["nickname"] = asked.child.nickname
    if asked.max_changes and judged.verdict != "pack":
        from service.jobs.lunch.changes import changes_for

        changes = changes_for(
            asked, lunch.table, list(lunch.items), list(lunch.avoidances), judged.findings, lunch.age_months
        )
        reply["changes"] = placed_changes(changes, lunch.items, sent)
    return reply


def check_items(
    table: TargetTable,
    items: list[PreparedItem],
    avoidances: list[Avoidance],
    holding: HoldingConditions | None,
    age_months: int,
    regions: Sequence[str],
) -> tuple[Reply, list[Judgement]]:
    """The reply for items made ready, and the judgements it rests on; changes and energy need are left empty.

    ``age_months``: of the child; ``regions``: whose guidance on handling is used.
    """
    lunch = lunch_to_judge(table, items, avoidances, holding, age_months, regions)
    judged = judge_lunch(lunch)
    return lunch_reply(lunch, judged, [SentItem(place, None) for place in range(len(items))]), judged.findings
