"""Plans of lunches: how far from what no plan can be below, and what the first plan costs in audits of the same offer.

The families are those of ``designs`` and a class of thirty; five groups of 3 to 12 foods, prices for all, six dishes made in batches
of 4, 6 and 8 on Sundays and Wednesdays, no food twice within three school days. ``as sold``: usual portions, of which many miss
a target; ``fitting``: portions with which most are kept. The limits of time are by the clock: other programs make them worse.
"""

import json
import time
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from service.domain.foods.food import Food
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.plan.weeks.plan_weeks import plan_weeks
from service.jobs.plan.weeks.requests import PlanRequest
from service.planning.solver import Progress
from tests.benchmarks.designs import HOLDING, US, foods_by_kind, least_processor_seconds
from tests.benchmarks.figure import Figure

MONDAY = date(2026, 11, 30)
SIZES = {"mains": 12, "fruit": 8, "vegetables": 8, "extras": 6, "drinks": 3}
FITTING = {"mains": 1.5, "fruit": 1.5, "vegetables": 2.0}
KILO = {
    "recipe": 900, "fruit": 350, "dried-fruit": 1200, "vegetables": 400, "cheese": 1200, "yogurt": 450, "grains": 300,
    "crackers": 800, "eggs": 600, "milk": 120, "plant-drinks": 200,
}  # fmt: skip
"""Cents for a kilogram of each category, for the benchmark alone."""
BATCHES = (4, 6, 8)
AVOIDED = ("peanut", "milk", "egg", "sesame", "wheat")
FOUR_GAP, MANY_GAP, MOST_AUDITS = 0.002, 0.01, 10
Children = Sequence[tuple[str, int, Any]]
CLASS: Children = [
    (f"child {n}", 6 + n * 5 % 11, [{"allergen": AVOIDED[n // 3 % 5]}] if n % 3 == 0 else []) for n in range(30)
]


def request(children: Children, weeks: int, seconds: float, *, fitting: bool) -> PlanRequest:
    """A plan that gives lunches out."""
    by_kind = foods_by_kind()
    quantities = FITTING if fitting else {}
    groups = [
        {
            "id": group,
            "items": [{"food": food.id, "quantity": quantities.get(group, 1.0)} for food in by_kind[group][:most]],
            "take": {"at_least": 0 if group == "extras" else 1, "at_most": 1},
        }
        for group, most in SIZES.items()
    ]
    prices = [_price(food, place) for group, most in SIZES.items() for place, food in enumerate(by_kind[group][:most])]
    body = {
        "way": "lunches",
        "days": [(MONDAY + timedelta(days=7 * week + day)).isoformat() for week in range(weeks) for day in range(5)],
        "prep_days": [
            (MONDAY + timedelta(days=7 * week + day)).isoformat() for week in range(weeks) for day in (-1, 2)
        ],
        "children": [
            {"nickname": name, "age_years": age, "standard": "us-school-lunch", "avoids": avoids}
            for name, age, avoids in children
        ],
        "holding": HOLDING,
        "offers": [{"id": "all", "offer": {"groups": groups}}],
        "dishes": [
            {"food": food.id, "batch_portions": BATCHES[place % 3]} for place, food in enumerate(by_kind["mains"][:6])
        ],
        "may_repeat": ["drinks"],
        "prices": prices,
        "seconds": seconds,
    }
    return PlanRequest.model_validate_json(json.dumps(body))


def _price(food: Food, place: int) -> dict[str, Any]:
    cents = int(KILO[food.category] * (0.7 + 0.06 * (place * 7 % 11)))
    return {"food": food.id, "amount_minor": cents, "currency": "USD", "pack_grams": 1000, "from": "2026-01-01"}


def figures() -> Iterator[Figure]:
    """The gap of each family after its time; the first plan, once the solver and the tables are loaded."""
    plan_weeks(request(US[:1], 1, 1.0, fitting=True))
    for fitting, portions in ((True, "fitting"), (False, "as sold")):
        for name, children, weeks, seconds, goal in (
            ("4 children, 10 days", US[:4], 2, 20.0, FOUR_GAP),
            ("30 children, 10 days", CLASS, 2, 15.0, MANY_GAP),
        ):
            asked = request(children, weeks, seconds, fitting=fitting)
            began, first = time.process_time(), []

            def told(_now: Progress, began: float = began, first: list[float] = first) -> bool:
                first.append(time.process_time() - began)
                return False

            plan = plan_weeks(asked, told=told)
            spent = time.process_time() - began
            search = plan["search"]
            detail = f"{search['objective']:.2f} against at least {search['bound']:.2f}; {spent:.1f} s of the processor"
            yield Figure(f"gap, {name}, {portions}", search["gap"], goal, at_most=True, detail=detail)
            _told, audit = least_processor_seconds(
                lambda asked=asked: audit_offer(OfferAuditRequest.model_validate(dict(asked.audit(0))), weeks=False)  # type: ignore[misc]
            )
            detail = f"{first[0]:.2f} s of the processor; an audit {audit:.2f} s"
            yield Figure(
                f"first plan / audit, {name}, {portions}", first[0] / audit, MOST_AUDITS, at_most=True, detail=detail
            )
