"""Finding an offer that cannot go wrong, against the audit of the offer that is found.

The families: three and eight children by the US standard, three by the Scottish one, eight by these two in turn; some of
them must not have peanut or sesame; five groups with 60 or 200 foods to choose from, three to five of each group wanted, four amounts each. Time is that of the
processor in this process, since other programs share the machine. Goals: at most ten audits of the same offer for up to eight
children by one standard and 100 foods, every lunch right or the rule in the way named; each week's target kept in 0.9 of all weeks.
"""

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from service.domain.foods.food import Food
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.plan.designs.design_offer import design_offer
from service.jobs.plan.requests import OfferDesignRequest
from service.reference.foods.catalogue import packable_foods
from tests.benchmarks.figure import Figure

ROUNDS = 3
MOST_AUDITS, MOST_AUDITS_OF_MANY, WEEKS_KEPT = 10, 100, 0.9
AMOUNTS = (0.5, 1.5, 2.0)
KINDS: Mapping[str, tuple[str, ...]] = {
    "mains": ("recipe",),
    "fruit": ("fruit", "dried-fruit"),
    "vegetables": ("vegetables",),
    "extras": ("cheese", "yogurt", "grains", "crackers", "eggs"),
    "drinks": ("milk", "plant-drinks"),
}
SIZES = {
    60: {"mains": 20, "fruit": 13, "vegetables": 13, "extras": 10, "drinks": 4},
    200: {"mains": 41, "fruit": 45, "vegetables": 60, "extras": 49, "drinks": 5},
}
HOLDING = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}
US = [
    ("Juniper", 8, []),
    ("Rowan", 12, [{"allergen": "peanut"}]),
    ("Linden", 15, []),
    ("Hazel", 6, []),
    ("Wren", 9, [{"allergen": "sesame"}]),
    ("Robin", 10, []),
    ("Jay", 13, []),
    ("Finch", 16, []),
]
"""Nickname, age and what each avoids."""


def foods_by_kind() -> dict[str, list[Food]]:
    """The lunch foods by group; everyday foods first."""
    found: dict[str, list[Food]] = {group: [] for group in KINDS}
    for food in sorted(packable_foods(), key=lambda one: not one.everyday):
        for group, kinds in KINDS.items():
            if food.category in kinds:
                found[group].append(food)
    return found


def family(children: Sequence[tuple[str, int, Any]], standard: str, foods: int, seconds: float = 5) -> dict[str, Any]:
    """The body of a design for so many foods."""
    by_kind = foods_by_kind()
    groups = []
    for group, most in SIZES[foods].items():
        items = [{"food": food.id, "quantities": list(AMOUNTS)} for food in by_kind[group][:most]]
        take = {"at_least": 0 if group == "extras" else 1, "at_most": 1}
        groups.append(
            {"id": group, "items": items, "take": take, "choices": 1 if group == "drinks" else 3, "most_choices": 5}
        )
    return {
        "on": "2026-12-01",
        "groups": groups,
        "children": [
            {"nickname": name, "age_years": age, "standard": standard, "avoids": avoids}
            for name, age, avoids in children
        ],
        "holding": HOLDING,
        "seconds": seconds,
    }


MIXED = [
    {**child, "standard": "gb-sct-school-lunch" if place % 2 else "us-school-lunch"}
    for place, child in enumerate(family(US, "us-school-lunch", 60)["children"])
]
FAMILIES = {
    "US, 3 children, 60 foods": family(US[:3], "us-school-lunch", 60),
    "US, 3 children, 200 foods": family(US[:3], "us-school-lunch", 200),
    "US, 8 children, 60 foods": family(US, "us-school-lunch", 60),
    "Scotland, 3 children, 60 foods": family(US[:3], "gb-sct-school-lunch", 60),
    "two standards, 8 children, 60 foods": {**family(US, "us-school-lunch", 60), "children": MIXED},
}
WITHIN = ("US, 3 children, 60 foods", "US, 8 children, 60 foods", "Scotland, 3 children, 60 foods")
"""Families of up to eight children, all by one standard, with up to a hundred foods."""


def figures() -> Iterator[Figure]:
    """For each family: what a design costs in audits of the offer found, whether every lunch is right, and how weeks come out."""
    for name, body in FAMILIES.items():
        asked = OfferDesignRequest.model_validate(body)
        reply, design = least_processor_seconds(lambda asked=asked: design_offer(asked))  # type: ignore[misc]
        kept = {part: body[part] for part in ("on", "children", "holding")}
        audit = OfferAuditRequest.model_validate({**kept, "offer": reply["offer"]})
        _audited, once = least_processor_seconds(lambda audit=audit: audit_offer(audit))  # type: ignore[misc]
        detail = f"{design:.2f} s of the processor; an audit {once * 1000:.0f} ms"
        goal = MOST_AUDITS if name in WITHIN else MOST_AUDITS_OF_MANY
        yield Figure(f"design / audit, {name}", design / once, goal, at_most=True, detail=detail)
        children = reply["children"]
        right = min(one["right_once_read"] / one["total"] for one in children)
        yield Figure(f"right lunches, {name}", right, 1.0)
        yield Figure(f"weeks kept, {name}", min(each["least"] for one in children for each in one["weeks"]), WEEKS_KEPT)


def least_processor_seconds(work: Callable[[], Any]) -> tuple[Any, float]:
    """What a piece of work gives, and the least time of the processor that it takes."""
    found, best = work(), float("inf")
    for _ in range(ROUNDS):
        began = time.process_time()
        found = work()
        best = min(best, time.process_time() - began)
    return found, best
