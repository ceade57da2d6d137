"""Stored prices by the API: packs of two weights, a last day, and another currency, in what counts costs. Sums by hand."""

from typing import Any

from tests.api.household.homes import Home
from tests.api.problems_seen import problem_of

MONDAY, FRIDAY = "2026-12-07", "2026-12-11"


def oats(amount: int, grams: float, day: str, **more: Any) -> dict[str, Any]:
    """The price of a pack of dry oats (SR28 20038)."""
    pack = {"what": "food", "food": "sr28-20038", "pack_grams": grams, "amount_minor": amount, "currency": "EUR"}
    return {**pack, "from": day, **more}


def meal(amount: int, **more: Any) -> dict[str, Any]:
    return {"what": "school_meal", "amount_minor": amount, "currency": "EUR", "from": "2026-09-01", **more}


def family(home: Home) -> str:
    """A child."""
    return home.kept("/v1/children", {"nickname": "Ann", "standard": "us-school-lunch", "birth_month": "2018-03"})


def list_of(home: Home, grams: float, day: str) -> dict[str, Any]:
    """What a shopping list says of oats on a day."""
    needs = [{"food": "sr28-20038", "quantity": grams, "unit": "g", "on": day}]
    answer = home.ask("POST", "/v1/shopping-lists", {"shop_on": day, "needs": needs})
    assert answer.status_code == 200, answer.text
    reply: dict[str, Any] = answer.json()
    return reply


def packs_of(reply: dict[str, Any]) -> list[tuple[float, int]]:
    """The packs that a list with one line sets out."""
    ((line,),) = [kind["lines"] for day in reply["days"] for kind in day["kinds"]]
    return [(one["pack_grams"], one["number"]) for one in line["packs"]]


def test_both_packs_of_a_food_are_kept_and_one_that_is_sold_no_more_is_ended(home: Home) -> None:
    """A kilogram at 2.00, 500 g at 1.20: of 1,400 g one of each is 3.20, two kilograms 4.00; without the kilogram three of 500 g."""
    large = home.kept("/v1/prices", oats(200, 1000, "2026-09-01"))
    home.kept("/v1/prices", oats(120, 500, "2026-11-01"))
    assert packs_of(list_of(home, 1400, MONDAY)) == [(1000, 1), (500, 1)]
    problem_of(home.ask("POST", "/v1/prices", oats(210, 1000, "2026-09-01")), 409, "already-there")
    etag = home.ask("GET", f"/v1/prices/{large}").headers["ETag"]
    wrong = home.ask("PATCH", f"/v1/prices/{large}", {"until": "2026-08-31"}, if_match=etag)
    assert problem_of(wrong, 422, "invalid-request")["errors"][0]["pointer"] == "#/until"
    assert home.ask("PATCH", f"/v1/prices/{large}", {"until": MONDAY}, if_match=etag).status_code == 200
    assert packs_of(list_of(home, 1400, MONDAY)) == [(1000, 1), (500, 1)]
    assert packs_of(list_of(home, 1400, FRIDAY)) == [(500, 3)]


def test_a_list_names_the_pack_in_another_currency(home: Home) -> None:
    """The kilogram at 2.00 EUR counts: 1,000 g are 2.00; 500 g at 0.10 USD are cheaper and are not counted."""
    home.kept("/v1/prices", oats(200, 1000, "2026-11-01"))
    home.kept("/v1/prices", oats(10, 500, "2026-09-01", currency="USD"))
    reply = list_of(home, 1000, MONDAY)
    assert (reply["cost"]["currency"], reply["cost"]["to_pay_minor"], reply["cost"]["eaten_minor"]) == ("EUR", 200, 200)
    (row,) = reply["cost"]["not_counted"]
    assert (row["amount_minor"], row["currency"], row["pack_grams"], row["child"]) == (10, "USD", 500, None)
    assert row["sentence"] in reply["notes"]


def test_a_plan_does_not_count_the_menus_price_for_a_child_whose_own_is_in_another_currency(home: Home) -> None:
    """Five meals at 3.00; from Wednesday the child's own price is in dollars, and the sum is not known."""
    child = family(home)
    home.kept("/v1/prices", meal(300))
    home.kept("/v1/prices", oats(200, 1000, "2026-09-01"))
    groups = [{"id": "grain", "items": [{"food": "sr28-20038", "quantity": 50, "unit": "g"}, {"food": "apple"}]}]
    days = [f"2026-12-{day:02}" for day in range(7, 12)]
    asked = {"children": [child], "days": days, "offers": [{"id": "a", "offer": {"groups": groups}}], "way": "offers"}
    before = home.ask("POST", "/v1/plans", asked).json()
    assert before["score"]["all_bought_minor"] == 1500
    home.kept("/v1/prices", meal(40, child=child, currency="USD", **{"from": "2026-12-09"}))
    after = home.ask("POST", "/v1/plans", asked).json()
    assert after["score"]["all_bought_minor"] is None
    said = [
        one for one in after["notes"] if one.startswith("Not counted: 0.40 USD, Ann's own price of the school meal.")
    ]
    assert len(said) == 1
    free = {**meal(0, child=child), "from": "2026-12-07", "until": "2026-12-08"}
    home.kept("/v1/prices", free)
    own = next(one for one in home.ask("GET", "/v1/prices").json()["items"] if one["amount_minor"] == 40)
    home.ask("DELETE", f"/v1/prices/{own['id']}", if_match='"1"')
    again = home.ask("POST", "/v1/plans", asked).json()["score"]
    assert (again["all_bought_minor"], again["own_price_lunches"]) == (900, 2)
