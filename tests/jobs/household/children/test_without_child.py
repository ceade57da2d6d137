"""Promise: a stored plan holds nothing of a child that is removed, and what is the others' stays theirs."""

from service.jobs.household.children.without_child import plan_without
from service.jobs.household.requests import KeptPlan

NAMES = [f"01900000-0000-7000-8000-00000000000{number}" for number in range(3)]


def test_the_own_prices_of_the_others_move_with_their_places() -> None:
    """The first of three goes: the menu's price stays, the second child's becomes the first's, the third has none."""
    price = {"currency": "USD", "from": "2026-09-01"}
    asked = {
        "days": ["2026-11-30"],
        "offers": [{"id": "a", "offer": {"groups": [{"id": "fruit", "items": [{"food": "apple"}]}]}}],
        "children": NAMES,
        "school_meal": [
            {**price, "amount_minor": 310},
            {**price, "amount_minor": 0, "child": 0},
            {**price, "amount_minor": 40, "child": 1},
        ],
    }
    left = plan_without(KeptPlan.model_validate({"asked": asked}, strict=False), {NAMES[0]})
    assert left is not None
    assert [(one.amount_minor, one.child) for one in left.asked.school_meal] == [(310, None), (40, 0)]
