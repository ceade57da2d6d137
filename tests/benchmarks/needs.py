"""How many portions are enough, in audits of the same offer.

Three children with four foods in each of five groups for a school week, eight children with eight foods for two, and twenty-four of
whom thirty lunches each are known. Time is that of the processor in this process. Goals: what is always enough within 50 ms,
what is usually enough within 2 s, where an audit takes what it took when they were set (`AUDIT_MS`).
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from random import Random
from typing import Any

from service.domain.plan.portions.learned import TakenLunch
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.resolve import resolve_audit
from service.jobs.plan import portion_needs as needs
from service.jobs.plan.eaters import eater_of
from service.jobs.plan.requests import PortionNeedsRequest
from service.planning.enough_model import guaranteed
from tests.benchmarks.designs import HOLDING, KINDS, US, foods_by_kind, least_processor_seconds
from tests.benchmarks.figure import Figure

MONDAY = date(2026, 11, 30)
ALWAYS_MS, USUAL_MS = 50, 2_000
AUDIT_MS = 20
"""An audit of these offers took 13 to 30 ms: the goals are so many audits, whatever else the machine does."""
MOST_AUDITS_ALWAYS, MOST_AUDITS_USUAL = ALWAYS_MS / AUDIT_MS, USUAL_MS / AUDIT_MS
LUNCHES_KNOWN = 30
Children = Sequence[tuple[str, int, Any]]
CLASS: Children = [
    (f"child {n}", 6 + n % 11, [{"allergen": ("peanut", "sesame", "egg")[n % 3]}] if n % 4 == 0 else [])
    for n in range(24)
]


def family(foods: int, children: Children, weeks: int) -> PortionNeedsRequest:
    """The request for so many foods in each group."""
    by_kind = foods_by_kind()
    groups = [
        {
            "id": group,
            "items": [{"food": food.id} for food in by_kind[group][:foods]],
            "take": {"at_least": 0 if group == "extras" else 1, "at_most": 1},
        }
        for group in KINDS
    ]
    people = [
        {"nickname": name, "age_years": age, "standard": "us-school-lunch", "avoids": avoids}
        for name, age, avoids in children
    ]
    days = [(MONDAY + timedelta(day, weeks=week)).isoformat() for week in range(weeks) for day in range(5)]
    body = {"offer": {"groups": groups}, "days": days, "children": people, "holding": HOLDING}
    return PortionNeedsRequest.model_validate(body)


def class_that_is_known() -> PortionNeedsRequest:
    """A class for a week, every fourth child of which must not have something, with lunches in which some foods are liked more."""
    draws = Random(1)  # noqa: S311 - invented lunches
    asked = family(8, CLASS, 1)
    groups = [[str(item.food) for item in group.items] for group in asked.offer.groups]
    offered = frozenset(food for some in groups for food in some)
    liked = [[[draws.random() ** 2 for _food in some] for some in groups] for _child in asked.children]
    return asked.knowing(
        [
            [
                TakenLunch(
                    offered, frozenset(draws.choices(some, of)[0] for some, of in zip(groups, mine, strict=True))
                )
                for _lunch in range(LUNCHES_KNOWN)
            ]
            for mine in liked
        ]
    )


def figures() -> Iterator[Figure]:
    """For each family: what is always enough, and all of the reply, in audits of the offer."""
    for name, asked in (
        ("3 children, a week", family(4, US[:3], 1)),
        ("8 children, two weeks", family(8, US, 2)),
        ("24 children, learned, a week", class_that_is_known()),
    ):
        _audited, once = least_processor_seconds(lambda asked=asked: audit_offer(asked.audit()))  # type: ignore[misc]
        _found, always = least_processor_seconds(always_enough(asked))
        _reply, whole = least_processor_seconds(lambda asked=asked: needs.portion_needs(asked))  # type: ignore[misc]
        detail = f"{always * 1000:.0f} ms of the processor; an audit {once * 1000:.0f} ms"
        yield Figure(f"always enough / audit, {name}", always / once, MOST_AUDITS_ALWAYS, at_most=True, detail=detail)
        detail = f"{whole * 1000:.0f} ms of the processor; an audit {once * 1000:.0f} ms"
        yield Figure(f"usually enough / audit, {name}", whole / once, MOST_AUDITS_USUAL, at_most=True, detail=detail)


def always_enough(asked: PortionNeedsRequest) -> Callable[[], Any]:
    """What finds the portions that are always enough, of all groups, once the offer is laid out."""
    made = resolve_audit(asked.audit()).children
    mornings = frozenset(range(len(asked.days)))
    groups = [
        ([eater_of(one, str(place), group, mornings) for place, one in enumerate(made)], dict.fromkeys(group.items, 1))
        for group in made[0].whole.groups
    ]
    return lambda: [guaranteed(eaters, cost) for eaters, cost in groups]
