"""Auditing an everyday family's offer against single lunch checks, and the search for changes.

The family: four children of 4 to 15 with the standards of their ages, one of whom must not have peanut; five choice
groups, 4,320 lunches each child may take at the most. The yardstick is one lunch check as a caller gets it who sets
nothing (it looks for changes to the lunch); both run in this process, without HTTP.
"""

import time
from collections.abc import Callable, Iterator
from typing import Any

from service.jobs.foods.at_hand import everyday_foods
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.requests.lunches import LunchCheckRequest
from tests.benchmarks.figure import Figure
from tests.benchmarks.lunch_check_rate import BODY

ROUNDS = 15
READ = (
    "sandwich-turkey-cheese", "sandwich-cheese", "sandwich-ham", "pasta-tomato-chickpea", "wrap-bean-cheese",
    "sandwich-sunflower-jam", "yogurt-plain-low-fat", "hummus", "crackers-whole-wheat",
)  # fmt: skip
PACKETS = [
    {"food": food, "read_on": "2026-11-20", "allergens": [{"allergen": "peanut", "level": "not_named"}]}
    for food in READ
]
"""What was read on the packets of the family's foods."""

GROUPS: tuple[tuple[str, tuple[dict[str, Any], ...]], ...] = (
    (
        "mains",
        (
            {"food": "sandwich-turkey-cheese"},
            {"food": "sandwich-cheese"},
            {"food": "sandwich-ham"},
            {"food": "pasta-tomato-chickpea"},
            {"food": "wrap-bean-cheese"},
            {"food": "sandwich-sunflower-jam"},
        ),
    ),
    (
        "fruit",
        (
            {"food": "apple", "form": "thin_slice"},
            {"food": "clementine", "form": "pieces"},
            {"food": "orange", "form": "pieces"},
            {"food": "banana"},
            {"food": "strawberries", "quantity": 0.5, "unit": "cup", "form": "quartered_length"},
        ),
    ),
    (
        "vegetables",
        (
            {"food": "carrots-cooked"},
            {"food": "cucumber", "form": "thin_slice"},
            {"food": "peas-green-cooked"},
            {"food": "pepper-red-raw", "quantity": 46, "unit": "g", "form": "thin_slice"},
        ),
    ),
    (
        "extras",
        (
            {"food": "yogurt-plain-low-fat"},
            {"food": "hummus"},
            {"food": "crackers-whole-wheat"},
            {"food": "cheese-cheddar", "quantity": 28, "unit": "g", "form": "grated"},
            {"food": "egg-hard-boiled", "form": "chopped"},
            {"food": "kiwifruit", "form": "pieces"},
        ),
    ),
    (
        "drinks",
        (
            {"food": "milk-1-percent"},
            {"food": "milk-skim"},
            {"food": "water"},
            {"food": "milk-1-percent", "quantity": 0.75, "unit": "cup", "key": "small milk"},
            {"food": "milk-skim", "quantity": 0.75, "unit": "cup", "key": "small skim milk"},
            {"food": "milk-1-percent", "quantity": 0.5, "unit": "cup", "key": "half a milk"},
        ),
    ),
)
CHILDREN = (
    {"nickname": "Juniper", "age_years": 4, "standard": "us-child-care-lunch"},
    {"nickname": "Rowan", "age_years": 8, "standard": "us-school-lunch"},
    {"nickname": "Linden", "age_years": 12, "standard": "us-school-lunch", "avoids": [{"allergen": "peanut"}]},
    {"nickname": "Hazel", "age_years": 15, "standard": "us-school-lunch"},
)


LARGE = {
    "mains": ("recipe", "meats"),
    "fruit": ("fruit",),
    "vegetables": ("vegetables",),
    "extras": ("grains", "crackers", "cheese", "yogurt"),
}
"""The categories of everyday foods that a large offer is made of."""


def family(**more: Any) -> OfferAuditRequest:
    """The family's request."""
    offer = {"groups": [{"id": name, "items": list(items)} for name, items in GROUPS]}
    asked = {"on": "2026-12-01", "offer": offer, "children": list(CHILDREN), "packets": PACKETS, **more}
    return OfferAuditRequest.model_validate(asked)


def least_seconds(*works: Callable[[], object], rounds: int = ROUNDS) -> list[float]:
    """The least time of each, asked in turns, so that a change of the machine's mood meets all."""
    best = [float("inf")] * len(works)
    for work in works:
        work()
    for _ in range(rounds):
        for place, work in enumerate(works):
            began = time.perf_counter()
            work()
            best[place] = min(best[place], time.perf_counter() - began)
    return best


def figures() -> Iterator[Figure]:
    """The audit without and with the best and worst lunches, and with the search for changes."""
    lunch = LunchCheckRequest.model_validate_json(BODY.replace(b',\n "max_changes": 0', b""))
    counted, shown = family(max_changes=0, examples=0), family(max_changes=0)
    check, plain, full = least_seconds(
        lambda: check_lunch(lunch), lambda: audit_offer(counted), lambda: audit_offer(shown)
    )
    lunches = ", ".join(f"{child['total']:,}" for child in audit_offer(counted)["children"])
    told = f"{lunches} lunches; {plain * 1e3:.1f} ms, a lunch check {check * 1e3:.2f} ms"
    yield Figure("offers: family of four, in lunch checks", plain / check, 10.0, at_most=True, detail=told)
    told = f"{full * 1e3:.1f} ms with the five best and worst of each child as full checks"
    yield Figure("offers: the same with best and worst", full / check, 20.0, at_most=True, detail=told)
    # Without it every lunch depends on how it is kept, and no changes are looked for.
    mended = family(examples=0, holding={"insulated": True, "cold_sources": 2})
    (seconds,) = least_seconds(lambda: audit_offer(mended), rounds=2)
    told = f"{seconds:.2f} s without best and worst, four children, up to two changes together"
    yield Figure("offers: with changes, in lunch checks", seconds / check, 300.0, at_most=True, detail=told)
    yield _large()


def _large() -> Figure:
    """The search for changes to an offer of tens of millions of lunches, against counting it."""
    foods = {
        name: [one.food.id for one in everyday_foods() if one.food.category in categories]
        for name, categories in LARGE.items()
    }
    mains = ["sandwich-cheese", "sandwich-ham", "wrap-bean-cheese", "egg-hard-boiled", "tuna-salad", "falafel"]
    milks = [
        {"food": "milk-1-percent", "quantity": 1 + place / 20, "unit": "cup", "key": f"{place}"} for place in range(7)
    ]
    groups = [
        {"id": "mains", "items": [{"food": one} for one in [*mains, *foods["mains"][:6]]]},
        *(
            {"id": name, "items": [{"food": one} for one in foods[name][:12]], "take": {"at_least": low, "at_most": 2}}
            for name, low in (("fruit", 1), ("vegetables", 1), ("extras", 0))
        ),
        {"id": "drinks", "items": [*milks, {"food": "water"}]},
    ]
    asked: dict[str, Any] = {
        "on": "2026-12-01",
        "offer": {"groups": groups},
        "children": [{"age_years": 8, "standard": "us-school-lunch"}],
        "holding": {"insulated": True, "cold_sources": 2},
        "examples": 0,
    }
    plain, searched = (OfferAuditRequest.model_validate({**asked, "max_changes": most}) for most in (0, 3))
    without, with_changes = least_seconds(lambda: audit_offer(plain), lambda: audit_offer(searched), rounds=3)
    (child,) = audit_offer(plain)["children"]
    told = f"{child['total']:,} lunches; {with_changes:.2f} s with changes, {without:.2f} s without"
    return Figure(
        "offers: large, with changes, in audits without", with_changes / without, 10.0, at_most=True, detail=told
    )
