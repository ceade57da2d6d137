"""Laws of plans: nothing changed changes nothing, an allergen never reaches its child's plan or label, and checks agree as told."""

import json
from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.plan.labels.label_sheet import label_reply, label_sheet
from service.jobs.plan.labels.requests import LabelSheetRequest
from service.jobs.plan.weeks.plan_weeks import plan_weeks
from service.jobs.plan.weeks.requests import PlanRequest
from service.jobs.requests.lunches import LunchCheckRequest
from tests.strategies import EXAMPLES

pytestmark = pytest.mark.property

LAW = settings(deadline=None, max_examples=max(5, EXAMPLES // 4))
MONDAY = date(2026, 11, 30)
HOLDING = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}
HOLDS = {
    "sandwich-peanut-butter-jam": {"peanut", "wheat"},
    "sandwich-sunflower-jam": {"wheat"},
    "pasta-tomato-chickpea": {"wheat"},
    "egg-muffin-vegetable": {"egg"},
    "yogurt-plain-whole": {"milk"},
    "almonds": {"tree_nuts"},
    "milk-1-percent": {"milk"},
}
"""What these foods hold by their nature, whatever any packet says."""
MAINS = ("sandwich-peanut-butter-jam", "sandwich-sunflower-jam", "pasta-tomato-chickpea", "egg-muffin-vegetable")
SIDES = ("banana", "pear", "yogurt-plain-whole", "almonds")
DRINKS = ("water", "milk-1-percent")
ALLERGENS = ("peanut", "tree_nuts", "milk", "egg", "wheat")


@st.composite
def requests(draw: st.DrawFn) -> dict[str, Any]:
    """A plan of a few days for one to three children who must not have this or that."""
    days = [(MONDAY + timedelta(days=number)).isoformat() for number in range(draw(st.integers(1, 4)))]
    groups = [
        {
            "id": name,
            "items": [{"food": food} for food in draw(st.lists(st.sampled_from(foods), min_size=1, unique=True))],
        }
        for name, foods in (("mains", MAINS), ("sides", SIDES), ("drinks", DRINKS))
    ]
    children = [
        {
            "nickname": f"child {number}",
            "age_years": draw(st.integers(6, 16)),
            "standard": "us-school-lunch",
            "avoids": [
                {"allergen": one} for one in draw(st.lists(st.sampled_from(ALLERGENS), max_size=2, unique=True))
            ],
        }
        for number in range(draw(st.integers(1, 3)))
    ]
    mains = [one["food"] for one in groups[0]["items"]]  # type: ignore[index]
    dishes = draw(st.lists(st.sampled_from(mains), max_size=2, unique=True))
    return {
        "way": draw(st.sampled_from(["lunches", "offers"])),
        "days": days,
        "prep_days": [(MONDAY - timedelta(days=1)).isoformat()],
        "children": children,
        "holding": HOLDING,
        "offers": [{"id": "all", "offer": {"groups": groups}}],
        "dishes": [{"food": food, "batch_portions": draw(st.integers(1, 5))} for food in dishes],
        "no_repeat_days": draw(st.integers(0, 3)),
        "may_repeat": ["drinks"],
        "seconds": 2,
    }


def planned(request: Mapping[str, Any]) -> dict[str, Any]:
    """The plan, as it is sent."""
    told: dict[str, Any] = json.loads(json.dumps(plan_weeks(PlanRequest.model_validate_json(json.dumps(request)))))
    return told


def checked(request: Mapping[str, Any], lunch: Mapping[str, Any], child: Mapping[str, Any]) -> dict[str, Any]:
    """The single check of a lunch of the plan, as anybody can ask for it."""
    items = [{name: one[name] for name in ("food", "quantity", "unit")} for one in lunch["items"]]
    body = {
        "on": request["days"][0],
        "child": {name: value for name, value in child.items() if name != "standard"},
        "standard": child["standard"],
        "lunch": {"items": items, "holding": HOLDING},
        "max_changes": 0,
    }
    return check_lunch(LunchCheckRequest.model_validate_json(json.dumps(body)))


@LAW
@given(requests())
def test_planning_again_with_nothing_changed_changes_nothing(request: dict[str, Any]) -> None:
    first = planned(request)
    again = planned({**request, "before": first["decisions"]})
    assert again["changes"] == []
    for part in ("decisions", "days", "batches", "moves", "needs", "from_stock", "short"):
        assert again[part] == first[part], part


@LAW
@given(requests())
def test_each_lunch_passes_the_single_check_as_told_and_holds_no_allergen_of_its_child(request: dict[str, Any]) -> None:
    """Of a food that is left to no child nothing is given, however few foods there are."""
    plan = planned({**request, "way": "lunches"})
    children = {one["nickname"]: one for one in request["children"]}
    for day in plan["days"]:
        for lunch in day["lunches"]:
            if not lunch["items"]:
                assert lunch["verdict"] is None
                continue
            check = checked(request, lunch, children[lunch["child"]])
            assert check["verdict"] == lunch["verdict"]
            avoided = {one["allergen"] for one in children[lunch["child"]]["avoids"]}
            for item in lunch["items"]:
                assert not avoided & HOLDS.get(item["food"], set()), item["food"]


@LAW
@given(requests())
def test_a_batch_on_a_label_is_said_not_to_be_for_whom_it_is_not(request: dict[str, Any]) -> None:
    """What a plan makes has a label that names every child who must not have what is in it."""
    plan = planned(request)
    children = [{name: one[name] for name in ("nickname", "avoids")} for one in request["children"]]
    for batch in plan["batches"]:
        use_by = min(one["use_by"] for one in batch["keeps"] if one["use_by"] is not None)
        label = {"food": batch["food"], "made": batch["made_on"], "use_by": use_by}
        body = {"sheet": "a4-2x4", "children": children, "labels": [label]}
        reply = label_reply(label_sheet(LabelSheetRequest.model_validate_json(json.dumps(body))))
        not_for = " ".join(row["text"] for row in reply["labels"][0]["rows"] if row["bold"])
        for child in children:
            if {one["allergen"] for one in child["avoids"]} & HOLDS[batch["food"]]:
                assert child["nickname"] in not_for
