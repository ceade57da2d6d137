"""Energy from sweets and snacks fills no minimum of a week's mean, as it fills none of one lunch (a rule of ours, proposed)."""

from typing import Any

from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import sum_up_week

DATES = ["2026-11-30", "2026-12-01", "2026-12-02", "2026-12-03", "2026-12-04"]
MEAL = ["sandwich-ham", "apple", "milk-1-percent"]


def findings(items: list[Any], uneaten: list[dict[str, Any]] | None = None) -> dict[str, dict[str, Any]]:
    rows = [{"food": one} if isinstance(one, str) else one for one in items]
    days = [{"date": on, "kind": "packed", "items": rows, "uneaten": uneaten or []} for on in DATES]
    asked = {"standard": "us-school-lunch", "child": {"age_years": 8}, "week": "2026-W49", "days": days}
    reply = sum_up_week(WeekRequest.model_validate({**asked, "max_changes": 0}))
    return {one["id"]: one for one in reply["findings"]}


def gum_drops(grams: int) -> dict[str, Any]:
    """396 kcal in 100 g (USDA SR28)."""
    return {"food": "gum-drops", "unit": "g", "quantity": grams}


def test_a_mean_kept_only_with_sweets_is_told_and_the_mean_stays() -> None:
    meal = findings(MEAL)["energy"]
    assert meal["status"] == "short"
    grams = int((600 - meal["amount"]) / 3.96)
    found = findings([*MEAL, gum_drops(grams)])
    assert found["energy"]["status"] == "met"
    assert found["energy"]["amount"] > 590
    without = found["energy-without-sweets"]
    assert (without["status"], without["source_status"]) == ("short", "proposed")
    assert without["amount"] == meal["amount"]
    assert (without["at_least"], without["at_most"]) == (550.0, None)
    assert "sweets" in without["sentence"]


def test_a_meal_that_is_enough_by_itself_has_no_such_finding() -> None:
    enough = [*MEAL, "bread-whole-wheat", "sandwich-cheese"]
    assert "energy-without-sweets" not in findings([*enough, gum_drops(1)])


def test_a_short_mean_is_told_once() -> None:
    assert "energy-without-sweets" not in findings([*MEAL, gum_drops(1)])


def test_sweets_that_came_back_are_no_sweets() -> None:
    meal = findings(MEAL)["energy"]
    grams = int((600 - meal["amount"]) / 3.96)
    found = findings([*MEAL, gum_drops(grams)], [{"item": 3, "share": 1.0}])
    assert found["energy"]["status"] == "short"
    assert "energy-without-sweets" not in found
