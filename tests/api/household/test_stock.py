"""The stock of a household: what is kept, moved, taken and given back, and what is refused.

Use-by days by the sources named in ``tests/domain/stock/test_keeping.py``.
"""

from datetime import date, timedelta
from typing import Any

import pytest

from tests.api.household.homes import Home, child_body, food_body, lunch_body, recipe_body, stock_body, today
from tests.api.problems_seen import problem_of

STOCK = "/v1/stock"
SANDWICH = "sandwich-peanut-butter"


def day(text: str, days: int = 0) -> str:
    """A day, so many later."""
    return (date.fromisoformat(text) + timedelta(days)).isoformat()


def entry(home: Home, entry_id: str) -> dict[str, Any]:
    """An entry as it is shown."""
    found: dict[str, Any] = home.ask("GET", f"{STOCK}/{entry_id}").json()
    return found


def happen(home: Home, entry_id: str, **body: Any) -> Any:
    """Tell what happened to an entry."""
    return home.ask("POST", f"{STOCK}/{entry_id}/events", body, if_match="*")


def test_an_entry_is_shown_with_the_day_until_which_it_keeps_and_why(home: Home) -> None:
    made = today()
    kept = entry(home, home.kept(STOCK, stock_body("chicken-breast-roasted", 3, made_on=made)))
    assert (kept["use_by"], kept["days_left"], kept["quality_only"]) == (day(made, 2), 2, False)
    assert "2 days" in kept["use_by_rule"]
    assert kept["name"] == "chicken breast, roasted, no skin"
    assert kept["grams"] == 3 * kept["portion_grams"]


def test_a_plan_knows_how_long_what_is_frozen_was_kept_before(home: Home) -> None:
    """From the day it was made, or from that on which its packet was opened, until it was frozen."""
    days = {
        0: {"made_on": today(-5), "frozen_on": today(-5)},
        1: {"made_on": today(-5), "frozen_on": today(-4)},
        2: {"bought_on": today(-9), "opened_on": today(-5), "frozen_on": today(-3)},
    }
    stock = {home.kept(STOCK, stock_body(SANDWICH, 1, place="freezer", **one)): number for number, one in days.items()}
    child = home.kept("/v1/children", child_body(avoids=[]))
    offer = home.kept("/v1/offers", {"name": "mornings", "groups": [{"id": "main", "items": [{"food": SANDWICH}]}]})
    asked = {"days": [today(3)], "children": [child], "offers": [{"id": "mornings", "offer": offer}]}
    assert home.ask("POST", "/v1/plans", {"name": "a day", **asked}).status_code == 201
    (stored,) = home.ask("GET", "/v1/plans").json()["items"]
    assert {one["id"]: one["days_before_freezing"] for one in stored["asked"]["stock"]} == stock


def test_a_part_that_is_moved_becomes_an_entry_of_its_own(home: Home) -> None:
    here = home.kept(STOCK, stock_body(SANDWICH, 6, place="freezer", made_on=today(-7)))
    answer = happen(home, here, event="moved", portions=2, to="fridge")
    assert answer.status_code == 201
    told = answer.json()
    assert (told["stock"]["portions"], told["moved_to"]["portions"]) == (4, 2)
    assert (told["moved_to"]["place"], told["moved_to"]["thawed_on"]) == ("fridge", today())
    again = happen(home, here, event="moved", portions=1, to="fridge").json()
    assert again["moved_to"]["id"] == told["moved_to"]["id"]  # alike in all: one entry
    assert again["moved_to"]["portions"] == 3
    whole = happen(home, here, event="moved", to="fridge").json()
    assert (whole["moved_to"], whole["stock"]["place"], whole["stock"]["portions"]) == (None, "fridge", 3)


def test_what_goes_back_to_the_freezer_keeps_the_days_it_lay_thawed(home: Home) -> None:
    here = home.kept(
        STOCK, stock_body("chicken-breast-roasted", 2, made_on=today(-10), frozen_on=today(-10), place="freezer")
    )
    happen(home, here, event="moved", to="fridge", on=today(-2))
    happen(home, here, event="moved", to="freezer", on=today(-1))
    happen(home, here, event="moved", to="fridge")
    assert entry(home, here)["use_by"] in (today(1), today(0))  # 2 days in all, or 24 hours from now; one day is gone
    assert entry(home, here)["days_left"] == 1


def test_what_is_over_is_not_frozen_and_no_lunch_takes_it(home: Home) -> None:
    child = home.kept("/v1/children", child_body(avoids=[]))
    over = home.kept(STOCK, stock_body("chicken-breast-roasted", 2, made_on=today(-5)))
    problem_of(happen(home, over, event="moved", to="freezer"), 422, "bad-input")
    logged = home.ask("POST", "/v1/lunches", lunch_body(child, today(), "chicken-breast-roasted"))
    (row,) = logged.json()["stock"]["foods"]
    assert (row["taken_grams"], row["from"]) == (0, [])
    assert row["short_grams"] > 0


def test_a_lunch_takes_what_its_cooked_food_is_made_of(home: Home) -> None:
    """155 kcal in 100 g boiled, 143 raw (USDA SR28 01129, 01123): a boiled egg of 50 g there first, then 54.2 g of raw ones."""
    eggs = {**stock_body("sr28-01123", 1, made_on=today()), "portion_grams": 300}
    raw = home.kept(STOCK, eggs)
    boiled = home.kept(STOCK, {**stock_body("egg-hard-boiled", 1, made_on=today()), "portion_grams": 50})
    child = home.kept("/v1/children", child_body())
    body = {**lunch_body(child, today()), "items": [{"food": "egg-hard-boiled", "quantity": 100, "unit": "g"}]}
    answer = home.ask("POST", "/v1/lunches", body)
    assert answer.status_code == 201, answer.text
    (row,) = answer.json()["stock"]["foods"]
    assert (row["food"], row["taken_grams"], row["short_grams"]) == ("egg-hard-boiled", 100, 0)
    assert entry(home, boiled)["grams"] == 0
    assert entry(home, raw)["grams"] == pytest.approx(300 - 50 * 155 / 143, abs=0.01)
    home.ask("DELETE", f"/v1/lunches/{answer.json()['lunch']['id']}", if_match="*")
    assert (entry(home, boiled)["grams"], entry(home, raw)["grams"]) == (50, 300)


def test_a_lunch_that_takes_more_than_is_there_raw_says_so(home: Home) -> None:
    """Of 10 g of dry rice 28.1 g of cooked rice come (365 and 130 kcal, USDA SR28 20044, 20045): 71.9 g of 100 g are short."""
    home.kept(STOCK, {**stock_body("sr28-20044", 1, place="cupboard", made_on=today()), "portion_grams": 10})
    child = home.kept("/v1/children", child_body())
    body = {
        **lunch_body(child, today()),
        "items": [{"food": "rice-white-cooked", "quantity": 100, "unit": "g"}],
    }
    told = home.ask("POST", "/v1/lunches", body).json()["stock"]
    assert told["foods"][0]["short_grams"] == pytest.approx(71.9, abs=0.1)
    assert "71.9 g more were packed than the stock had" in told["notes"][0]


def test_a_lunch_takes_what_ends_first_and_gives_back_exactly_that(home: Home) -> None:
    child = home.kept("/v1/children", child_body(avoids=[]))
    frozen = home.kept(STOCK, stock_body(SANDWICH, 1, place="freezer", made_on=today(-5)))
    later = home.kept(STOCK, stock_body(SANDWICH, 1, made_on=today()))
    sooner = home.kept(STOCK, stock_body(SANDWICH, 1, made_on=today(-1)))
    items = [{"food": SANDWICH, "quantity": 2.5}, {"food": "apple"}]
    logged = home.ask("POST", "/v1/lunches", lunch_body(child, today(), items=items))
    assert logged.status_code == 201
    (row,) = logged.json()["stock"]["foods"]
    assert [one["id"] for one in row["from"]] == [sooner, later, frozen]
    assert row["short_grams"] == 0
    assert [entry(home, one)["portions"] for one in (sooner, later, frozen)] == [0, 0, 0.5]
    lunch = logged.json()["lunch"]["id"]
    noted = home.ask("PATCH", f"/v1/lunches/{lunch}", {"uneaten": []}, if_match="*")
    assert noted.json()["stock"] is None
    assert entry(home, frozen)["portions"] == 0.5
    more = home.ask("PATCH", f"/v1/lunches/{lunch}", {"items": [{"food": SANDWICH, "quantity": 4}]}, if_match="*")
    assert more.json()["stock"]["foods"][0]["short_grams"] > 0
    assert more.json()["stock"]["notes"]
    assert home.ask("DELETE", f"/v1/lunches/{lunch}", if_match="*").status_code == 204
    assert [entry(home, one)["portions"] for one in (sooner, later, frozen)] == [1, 1, 1]


def test_what_was_counted_since_a_lunch_took_of_it_stays_as_it_was_counted(home: Home) -> None:
    """By hand: 4, of which a lunch takes 1; 3 are counted. Undone, 3 are there; changed to 2, one more is taken; of another lunch all counts."""
    child = home.kept("/v1/children", child_body(avoids=[]))
    here = home.kept(STOCK, stock_body(SANDWICH, 4))
    other = home.kept(STOCK, stock_body("apple", 4))
    items = [{"food": SANDWICH, "quantity": 1}, {"food": "apple", "quantity": 1}]
    lunch = home.ask("POST", "/v1/lunches", lunch_body(child, today(), items=items)).json()["lunch"]["id"]
    happen(home, here, event="counted", portions=3)
    twice = [{"food": SANDWICH, "quantity": 2}, {"food": "apple", "quantity": 1}]
    answer = home.ask("PATCH", f"/v1/lunches/{lunch}", {"items": twice}, if_match="*")
    assert answer.json()["stock"]["notes"] == []
    assert (entry(home, here)["portions"], entry(home, other)["portions"]) == (2, 3)
    home.ask("PATCH", f"/v1/lunches/{lunch}", {"items": items}, if_match="*")
    assert (entry(home, here)["portions"], entry(home, other)["portions"]) == (3, 3)
    assert home.ask("DELETE", f"/v1/lunches/{lunch}", if_match="*").status_code == 204
    assert (entry(home, here)["portions"], entry(home, other)["portions"]) == (3, 4)
    events = home.ask("GET", f"{STOCK}/{here}/events").json()["items"]
    assert sum(one["grams"] for one in events if one["lunch"] == lunch) == 0  # no plan counts on what it took any more


def test_raw_food_that_was_counted_since_a_lunch_took_it_cooked_stays_as_it_was_counted(home: Home) -> None:
    """155 kcal in 100 g boiled, 143 raw (USDA SR28 01129, 01123): by hand, 6 raw eggs of 50 g, 46.13 g of boiled egg are one of them."""
    child = home.kept("/v1/children", child_body(avoids=[]))
    raw = home.kept(STOCK, {**stock_body("sr28-01123", 6, made_on=today()), "portion_grams": 50})
    one, two = (
        [{"food": "egg-hard-boiled", "quantity": grams, "unit": "g"}]
        for grams in (round(50 * 143 / 155, 3), round(100 * 143 / 155, 3))
    )
    lunch = home.ask("POST", "/v1/lunches", lunch_body(child, today(), items=one)).json()["lunch"]["id"]
    happen(home, raw, event="counted", portions=5)
    home.ask("PATCH", f"/v1/lunches/{lunch}", {"items": two}, if_match="*")
    assert entry(home, raw)["grams"] == pytest.approx(200, abs=0.01)
    assert home.ask("DELETE", f"/v1/lunches/{lunch}", if_match="*").status_code == 204
    assert entry(home, raw)["grams"] == pytest.approx(250, abs=0.01)


def test_a_household_without_stock_notices_nothing(home: Home) -> None:
    child = home.kept("/v1/children", child_body(avoids=[]))
    answer = home.ask("POST", "/v1/lunches", lunch_body(child, today()))
    assert (answer.status_code, answer.json()["stock"]) == (201, None)


def test_the_summary_says_what_to_move_and_what_to_use_up(home: Home) -> None:
    recipe = home.kept("/v1/recipes", {**recipe_body(home.kept("/v1/foods", food_body())), "thaw_hours": 30})
    home.kept(STOCK, stock_body(recipe, 5, place="freezer", made_on=today(-9)))
    home.kept(
        "/v1/offers", {"name": "mornings", "groups": [{"id": "main", "items": [{"food": "chicken-breast-roasted"}]}]}
    )
    chicken = home.kept(STOCK, stock_body("chicken-breast-roasted", 3, made_on=today(-1)))
    rule = {"keep_in_fridge": [{"food": recipe, "portions": 2}, {"food": SANDWICH, "portions": 1}]}
    assert home.ask("PATCH", "/v1/household", rule).status_code == 200
    told = home.ask("GET", "/v1/stock-summary").json()
    moves = {one["food"]: one for one in told["tonight"]}
    assert (moves[recipe]["portions"], moves[recipe]["ready_on"]) == (2, today(2))  # 30 hours from this evening
    assert (moves[SANDWICH]["portions"], moves[SANDWICH]["missing_portions"]) == (0, 1)
    (used,) = told["use_up"]
    assert (used["id"], used["days_left"]) == (chicken, 1)
    assert [one["name"] for one in used["offers"]] == ["mornings"]
    late = home.ask("GET", f"/v1/stock-summary?on={today(9)}").json()
    assert [one["id"] for one in late["over"]] == [chicken]


def test_what_is_over_once_thawed_is_neither_moved_nor_planned_for(home: Home) -> None:
    """Time in the freezer does not count, the days before it do: 2 days in the fridge (nhs-leftovers), of which 2 were gone."""
    chicken = "chicken-breast-roasted"
    late = home.kept(STOCK, stock_body(chicken, 2, place="freezer", made_on=today(-4), frozen_on=today(-2)))
    rule = {"keep_in_fridge": [{"food": chicken, "portions": 2}]}
    assert home.ask("PATCH", "/v1/household", rule).status_code == 200
    (tonight,) = home.ask("GET", "/v1/stock-summary").json()["tonight"]
    assert (tonight["portions"], tonight["missing_portions"], tonight["from"]) == (0, 2, [])
    first, second = tonight["sentences"]
    assert first.startswith("Leave 2 portions of chicken breast, roasted, no skin in the freezer: thawed on ")
    assert first.endswith(", they are past their last day. Do not pack them.")
    assert second.endswith("Make or buy more.")
    at_once = home.kept(STOCK, stock_body(chicken, 1, place="freezer", made_on=today(-1), frozen_on=today(-1)))
    (tonight,) = home.ask("GET", "/v1/stock-summary").json()["tonight"]
    assert ([one["id"] for one in tonight["from"]], tonight["missing_portions"]) == ([at_once], 1)
    child = home.kept("/v1/children", child_body(avoids=[]))
    offer = home.kept("/v1/offers", {"name": "mornings", "groups": [{"id": "main", "items": [{"food": chicken}]}]})
    asked = {"days": [today(3), today(4)], "children": [child], "offers": [{"id": "mornings", "offer": offer}]}
    planned = home.ask("POST", "/v1/plans", {"name": "two days", **asked}).json()
    assert {one["lot"] for one in planned["from_stock"]} == {at_once}
    for here in (late, at_once):  # what is moved keeps until it is thawed, what is left would not have
        kept = happen(home, here, event="moved", to="fridge").json()["stock"]["use_by"]
        assert (kept >= tonight["ready_on"]) == (here == at_once)


def test_an_event_sent_twice_happens_once(home: Home) -> None:
    here = home.kept(STOCK, stock_body(SANDWICH, 3))
    for _time in range(2):
        answer = home.ask(
            "POST", f"{STOCK}/{here}/events", {"event": "taken", "portions": 1}, if_match='"1"', idempotency_key='"k"'
        )
        assert answer.status_code == 201
    assert entry(home, here)["portions"] == 2
    problem_of(home.ask("POST", f"{STOCK}/{here}/events", {"event": "taken"}, if_match='"1"'), 412, "stale-edit")


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"food": "unicorn"}, "#/food"),
        ({"portions": 0}, "#/portions"),
        ({"portions": -1}, "#/portions"),
        ({"portions": 1.1}, "#/portions"),
        ({"portions": 10_001}, "#/portions"),
        ({"place": "attic"}, "#/place"),
        ({"bought_on": "2999-01-01"}, "#/bought_on"),
        ({"opened_on": "2999-01-01"}, "#/opened_on"),
        ({"printed_date": "2999-01-01"}, "#/printed_date"),
        ({"opened_on": "2020-01-01"}, "#"),
        ({"bought_on": None}, "#"),
        ({"portion_grams": 0}, "#/portion_grams"),
    ],
)
def test_bad_entries_are_refused_with_their_place(home: Home, more: dict[str, Any], pointer: str) -> None:
    answer = home.ask("POST", STOCK, {**stock_body("apple"), **more})
    assert answer.status_code == 422, answer.text
    assert answer.json()["errors"][0]["pointer"].startswith(pointer)
    assert home.ask("GET", STOCK).json()["items"] == []


@pytest.mark.parametrize(
    "body",
    [
        {"event": "taken", "portions": 4.25},
        {"event": "moved", "portions": 5, "to": "freezer"},
        {"event": "moved", "to": "fridge"},
        {"event": "moved"},
        {"event": "taken", "to": "freezer"},
        {"event": "taken", "portions": 0},
        {"event": "counted"},
        {"event": "made", "portions": 9_999.75},
        {"event": "taken", "on": "2999-01-01"},
        {"event": "taken", "on": "2020-01-01"},
        {"event": "eaten"},
    ],
)
def test_bad_events_are_refused_and_change_nothing(home: Home, body: dict[str, Any]) -> None:
    here = home.kept(STOCK, stock_body("apple", 4))
    before = entry(home, here)
    answer = happen(home, here, **body)
    assert answer.status_code == 422, answer.text
    assert answer.json()["errors"][0]["remedy"]
    assert entry(home, here) == before


def test_how_much_there_is_is_not_edited_beside_the_events(home: Home) -> None:
    here = home.kept(STOCK, stock_body("apple", 4))
    for change in ({"portions": 5}, {"place": "freezer"}, {"food": "banana"}):
        assert home.ask("PATCH", f"{STOCK}/{here}", change, if_match="*").status_code == 422
    read = entry(home, here)
    answer = home.ask("PUT", f"{STOCK}/{here}", {**read, "note": "green"}, if_match="*")
    assert (answer.status_code, answer.json()["note"], answer.json()["grams"]) == (200, "green", read["grams"])


def test_a_rule_for_a_food_that_is_not_known_is_refused(home: Home) -> None:
    for food in ("unicorn", "01900000-0000-7000-8000-000000000999"):
        answer = home.ask("PATCH", "/v1/household", {"keep_in_fridge": [{"food": food, "portions": 1}]})
        assert answer.status_code in (404, 422)


def test_an_own_recipe_says_how_it_keeps(home: Home) -> None:
    food = home.kept("/v1/foods", food_body(perishable=True))
    body = {**recipe_body(food), "keeps": "soup", "freezes": "well", "thaw_hours": 12, "batch_fractions": True}
    recipe = home.kept("/v1/recipes", body)
    kept = entry(home, home.kept(STOCK, stock_body(recipe, 2, made_on=today())))
    assert kept["days_left"] == 2  # soup: the UK's 2 days for leftovers
    answer = home.ask("POST", "/v1/recipes", {**body, "name": "x", "keeps": "stone"})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "#/keeps")


def test_a_dish_of_which_more_is_made_takes_what_is_in_it(home: Home) -> None:
    """By hand: 2 portions of a dish of 300 g for 4 are half of it. Cooked rice takes dry rice by energy, 1.30 kcal for 3.65 kcal a gram
    (usda-sr28 20045 and 20044): 50 g are 17.8 g of dry. What nobody counts changes nothing."""
    rice = {"food": "rice-white-cooked", "grams": 100}
    own = home.kept("/v1/foods", food_body(name="our sauce"))
    parts = [rice, {"food": own, "grams": 120}, {"food": "apple", "grams": 80}]
    dish = home.kept("/v1/recipes", {"name": "rice pot", "ingredients": parts, "portions": 4})
    dry = home.kept(STOCK, stock_body("sr28-20044", 1, portion_grams=500, place="cupboard"))
    sauce = home.kept(STOCK, stock_body(own, 1, portion_grams=50))
    pot = home.kept(STOCK, stock_body(dish, 4, made_on=today()))
    assert entry(home, dry)["grams"] == 500  # what is entered may have been made before the rest was counted

    told = happen(home, pot, event="made", portions=2).json()
    taken = {one["food"]: one for one in told["used"]["foods"]}
    assert taken["rice-white-cooked"]["from"][0]["id"] == dry
    assert taken["rice-white-cooked"]["from"][0]["grams"] == pytest.approx(50 * 1.30 / 3.65, abs=0.05)
    assert (taken[own]["taken_grams"], taken[own]["short_grams"]) == (50, 10)
    assert told["used"]["notes"] == ["our sauce: 10 g more went in than the stock had. Count what is there again."]
    assert "apple" not in taken
    events = home.ask("GET", f"{STOCK}/{pot}/events").json()["items"]
    assert [[each["food"] for each in one["ingredients"]] for one in events] == [[], ["rice-white-cooked", own]]
    (_first, used) = home.ask("GET", f"{STOCK}/{sauce}/events").json()["items"]
    assert (used["event"], used["other"], used["grams"]) == ("used", pot, -50)

    assert home.ask("DELETE", f"{STOCK}/{pot}", if_match="*").status_code == 204
    assert home.ask("GET", f"{STOCK}/{sauce}/events").json()["items"][-1]["event"] == "given_back"
    assert (entry(home, sauce)["grams"], entry(home, dry)["grams"]) == (50, 500)


def test_a_dish_in_a_dish_is_taken_where_it_is_counted(home: Home) -> None:
    parts = [{"food": SANDWICH, "grams": 192}]
    dish = home.kept("/v1/recipes", {"name": "sandwich box", "ingredients": parts, "portions": 2})
    box = home.kept(STOCK, stock_body(dish, 1, made_on=today()))
    bread = home.kept(STOCK, stock_body("bread-whole-wheat", 1, portion_grams=500))
    assert [one["food"] for one in happen(home, box, event="made", portions=1).json()["used"]["foods"]] == [
        "bread-whole-wheat"
    ]
    left = entry(home, bread)["grams"]
    assert left < 500
    home.kept(STOCK, stock_body(SANDWICH, 3))
    assert [one["food"] for one in happen(home, box, event="made", portions=1).json()["used"]["foods"]] == [SANDWICH]
    assert entry(home, bread)["grams"] == left


def test_what_is_bought_more_takes_nothing(home: Home) -> None:
    bread = home.kept(STOCK, stock_body("bread-whole-wheat", 1, portion_grams=500))
    bought = home.kept(STOCK, stock_body(SANDWICH, 1))
    assert happen(home, bought, event="made", portions=1).json()["used"] is None
    assert entry(home, bread)["grams"] == 500
