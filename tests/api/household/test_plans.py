"""Promise: a plan with a name is stored as it was asked and decided, and made again with what changed and what stays."""

from collections.abc import Callable
from datetime import date, timedelta
from functools import partial
from types import ModuleType
from typing import Any

import pytest

from service.planning import batches_model, days_model
from tests.api.clients import client
from tests.api.household.homes import Home, child_body, stock_body, today
from tests.api.problems_seen import problem_of

PLANS = "/v1/plans"
DAYS = ["2026-11-30", "2026-12-01", "2026-12-02"]
FRUIT = {"groups": [{"id": "fruit", "items": [{"food": "apple"}, {"food": "banana"}]}]}
DRINKS = {"groups": [{"id": "drinks", "items": [{"food": "water"}, {"food": "milk-1-percent"}]}]}


def asked(*children: str, **more: Any) -> dict[str, Any]:
    """Three days of two offers."""
    offers = [{"id": "fruit", "offer": FRUIT}, {"id": "drinks", "offer": DRINKS}]
    return {"days": DAYS, "children": list(children), "offers": offers, "no_repeat_days": 1, **more}


def test_a_plan_with_a_name_is_stored_with_what_was_asked_and_decided(home: Home) -> None:
    child = home.kept("/v1/children", child_body())
    made = home.ask("POST", PLANS, asked(child, name="december"))
    assert made.status_code == 201
    told = made.json()
    assert made.headers["location"] == f"/v1/plans/{told['id']}"
    stored = home.ask("GET", made.headers["location"])
    assert stored.headers["etag"] == made.headers["etag"] == '"1"'
    assert stored.json()["name"] == "december"
    assert stored.json()["asked"]["children"] == [child]
    assert stored.json()["decisions"] == told["decisions"]
    assert [one["id"] for one in home.ask("GET", PLANS).json()["items"]] == [told["id"]]


def test_without_a_name_nothing_is_stored_and_a_name_needs_a_key(home: Home) -> None:
    child = home.kept("/v1/children", child_body())
    assert home.ask("POST", PLANS, asked(child)).json()["id"] is None
    assert home.ask("GET", PLANS).json()["items"] == []
    whole = {"nickname": "Rowan", "age_years": 8, "standard": "us-school-lunch"}
    body = {**asked(name="december"), "children": [whole]}
    with client() as service:
        assert service.post(PLANS, json={**body, "name": None}).status_code == 200
        problem = problem_of(service.post(PLANS, json=body), 422, "bad-input")
    assert "household's key" in problem["detail"]
    problem_of(home.ask("POST", PLANS, asked(child, name="december"), key=home.read), 403, "forbidden-right")


def test_the_same_name_twice_is_refused_and_the_same_request_is_answered_again(home: Home) -> None:
    child = home.kept("/v1/children", child_body())
    first = home.ask("POST", PLANS, asked(child, name="december"), idempotency_key='"a"')
    again = home.ask("POST", PLANS, asked(child, name="december"), idempotency_key='"a"')
    assert (first.status_code, again.json()["id"]) == (201, first.json()["id"])
    problem_of(home.ask("POST", PLANS, asked(child, name="december")), 409, "already-there")


@pytest.mark.parametrize(("model", "field"), [(days_model, "/days"), (batches_model, "/dishes")])
def test_a_solver_without_an_answer_in_time_leaves_nothing_stored(
    home: Home, monkeypatch: pytest.MonkeyPatch, model: ModuleType, field: str
) -> None:
    """The solver is given no time at all and has no answer; the same request, sent again, is planned and stored."""
    child = home.kept("/v1/children", child_body())
    recipe = home.kept("/v1/recipes", SOUP)
    body = soup_plan(child, recipe, name="december") if field == "/dishes" else asked(child, name="december")
    with monkeypatch.context() as patched:
        patched.setattr(model, "solve", partial(in_no_time, model.solve))
        problem = problem_of(home.ask("POST", PLANS, body, idempotency_key='"a"'), 422, "bad-input")
    (fault,) = problem["errors"]
    assert (fault["code"], fault["pointer"]) == ("no-plan-in-time", f"#{field}")
    assert home.ask("GET", PLANS).json()["items"] == []
    assert home.ask("POST", PLANS, body, idempotency_key='"a"').status_code == 201
    assert [one["name"] for one in home.ask("GET", PLANS).json()["items"]] == ["december"]


def test_lunches_looked_for_in_the_least_time_are_whole_or_not_stored(home: Home) -> None:
    """A tenth of a second, the least that can be asked: what is stored has a lunch for every day, the best so far."""
    child = home.kept("/v1/children", child_body())
    body = {
        **asked(child, name="december"),
        "way": "lunches",
        "offers": [{"id": "fruit", "offer": FRUIT}],
        "seconds": 0.1,
    }
    made = home.ask("POST", PLANS, body)
    assert made.status_code == 201, made.text
    stored = home.ask("GET", made.headers["location"]).json()
    assert [len(one["lunches"]) for one in stored["decisions"]["days"]] == [1, 1, 1]


def in_no_time(solve: Callable[..., Any], model: Any, **more: Any) -> Any:
    """What the solver finds when its time is up at once."""
    return solve(model, **{**more, "seconds": 0})


def test_an_edited_plan_is_made_again_and_what_is_locked_stays(home: Home) -> None:
    child = home.kept("/v1/children", child_body())
    made = home.ask("POST", PLANS, asked(child, name="december")).json()
    place = f"{PLANS}/{made['id']}"
    same = home.ask("POST", f"{place}/revisions", {}, if_match='"1"')
    assert same.json()["changes"] == []
    assert same.json()["code"] == "plan.nothing-changed"
    other = "drinks" if made["days"][1]["offer"] == "fruit" else "fruit"
    change = {"asked": {"stands": [{"day": DAYS[1], "offer": other}]}}
    edited = home.ask("PATCH", place, change, if_match=same.headers["etag"])
    locked = {"locked": {"days": [DAYS[0]]}}
    revised = home.ask("POST", f"{place}/revisions", locked, if_match=edited.headers["etag"])
    assert [one["offer"] for one in revised.json()["days"]][:2] == [made["days"][0]["offer"], other]
    assert revised.json()["changes"][0]["day"] == DAYS[1]
    assert home.ask("GET", place).json()["decisions"] == revised.json()["decisions"]
    assert home.ask("GET", place).headers["etag"] == revised.headers["etag"]
    problem_of(home.ask("POST", f"{place}/revisions", {}, if_match='"1"'), 412, "stale-edit")
    problem_of(home.ask("POST", f"{place}/revisions", {}), 428, "precondition-required")


def test_what_is_stored_as_locked_stays_without_being_said_again(home: Home) -> None:
    child = home.kept("/v1/children", child_body())
    made = home.ask("POST", PLANS, asked(child, name="december")).json()
    place = f"{PLANS}/{made['id']}"
    assert home.ask("GET", place).json()["found"]["before"] is None
    edits = {"locked": {"days": [DAYS[0], "2026-12-24"]}, "asked": {"days": DAYS[:2], "no_repeat_days": 0}}
    edited = home.ask("PATCH", place, edits, if_match='"1"')
    revised = home.ask("POST", f"{place}/revisions", {}, if_match=edited.headers["etag"]).json()
    first = revised["days"][0]
    assert (first["settled"], first["offer"]) == (True, made["days"][0]["offer"])
    stored = home.ask("GET", place).json()
    assert stored["locked"]["days"] == [DAYS[0]]  # the other is no day of the plan
    assert stored["found"]["before"] == made["decisions"]


def test_what_a_stored_child_dislikes_is_not_planned_for_it(home: Home) -> None:
    """Lunches given out hold nothing that the child dislikes, from whichever offer it would come."""
    child = home.kept("/v1/children", child_body(dislikes=["banana"]))
    body = {**asked(child, way="lunches"), "offers": [{"id": "fruit", "offer": FRUIT}]}
    told = home.ask("POST", PLANS, body).json()
    foods = {item["food"] for day in told["days"] for lunch in day["lunches"] for item in lunch["items"]}
    assert foods == {"apple"}


@pytest.mark.parametrize("way", ["offers", "lunches"])
def test_a_stored_offer_has_enough_for_the_child_that_gets_more(home: Home, way: str) -> None:
    """Its second child gets two apples: three a day where lunches are given out, else two for each; after one of them falls ill too."""
    one, two = home.kept("/v1/children", child_body()), home.kept("/v1/children", child_body(nickname="Wren"))
    apples = {"id": "fruit", "items": [{"food": "apple", "portions": [{"child": two, "quantity": 2}]}]}
    offer = home.kept("/v1/offers", {"name": "fruit", "groups": [apples]})
    body = {**asked(one, two, name="december", way=way), "offers": [{"id": "fruit", "offer": offer}]}
    told = home.ask("POST", PLANS, body).json()
    daily = 3 if way == "lunches" else 4
    assert [need["portions"] for need in told["needs"]] == [daily] * len(DAYS)
    ill = {"asked": {**body, "not_there": [{"child": 1, "days": [DAYS[2]]}]}}
    ill["asked"].pop("name")
    place = f"{PLANS}/{told['id']}"
    assert home.ask("PATCH", place, ill, if_match="*").status_code == 200
    again = home.ask("POST", f"{place}/revisions", {}, if_match="*").json()
    left = {need["by_day"]: need["portions"] for need in again["needs"]}
    assert left == {DAYS[0]: daily, DAYS[1]: daily, DAYS[2]: 1 if way == "lunches" else 2}
    gone = [change["code"] for change in again["changes"]]
    assert gone == (["plan-change.lunch-gone"] if way == "lunches" else [])


def test_what_a_stored_plan_names_cannot_be_removed_before_it(home: Home) -> None:
    child = home.kept("/v1/children", child_body())
    offer = home.kept("/v1/offers", {"name": "fruit", **FRUIT})
    body = {**asked(child, name="december"), "offers": [{"id": "fruit", "offer": offer}]}
    plan = home.kept(PLANS, body)
    problem_of(home.ask("DELETE", f"/v1/offers/{offer}", if_match="*"), 409, "still-used")
    assert home.ask("DELETE", f"{PLANS}/{plan}", if_match="*").status_code == 204
    assert home.ask("DELETE", f"/v1/offers/{offer}", if_match="*").status_code == 204


def test_a_stored_recipe_says_how_batches_are_made_and_keep(home: Home) -> None:
    """Parts of a batch, its class and its hours of thawing come from the recipe, unless the plan says them itself."""
    child = home.kept("/v1/children", child_body())
    soup = {
        "name": "lentil soup",
        "ingredients": [{"food": "lentils-cooked", "grams": 800}],
        "portions": 4,
        "batch_fractions": True,
        "keeps": "cooked-meat",
        "freezes": "well",
        "thaw_hours": 10,
    }
    recipe = home.kept("/v1/recipes", soup)
    offer = {"groups": [{"id": "mains", "items": [{"food": recipe}]}]}
    body = {
        **asked(child),
        "offers": [{"id": "soup", "offer": offer}],
        "prep_days": ["2026-11-24"],
        "dishes": [{"food": recipe, "batch_portions": 4}],
    }
    plan = home.ask("POST", PLANS, body).json()
    assert [(one["batches"], one["portions"]) for one in plan["batches"]] == [(0.75, 3)]
    assert {one["evening"] for one in plan["moves"]} == {"2026-11-29", "2026-11-30", "2026-12-01"}
    whole = {**body, "dishes": [{"food": recipe, "batch_portions": 4, "parts": 1, "thaw_hours": 24}]}
    plan = home.ask("POST", PLANS, whole).json()
    assert [(one["batches"], one["portions"]) for one in plan["batches"]] == [(1, 4)]
    assert {one["evening"] for one in plan["moves"]} == {"2026-11-28", "2026-11-29", "2026-11-30"}


def test_stock_and_plan_go_by_the_guidance_that_the_household_has_chosen(home: Home) -> None:
    """The same day for what is made today in both, for each choice; the plan may still name regions itself."""
    child = home.kept("/v1/children", child_body())
    offer = {"groups": [{"id": "mains", "items": [{"food": "pasta-tomato-chickpea"}]}]}
    first = date.fromisoformat(today())
    days = [(first + timedelta(days=number)).isoformat() for number in (1, 2)]
    dishes = [{"food": "pasta-tomato-chickpea", "batch_portions": 4}]
    body = {
        **asked(child),
        "offers": [{"id": "a", "offer": offer}],
        "days": days,
        "prep_days": [today()],
        "dishes": dishes,
        "stock": [],
    }
    entry = home.kept("/v1/stock", stock_body("pasta-tomato-chickpea", made_on=today()))

    def of_plan(**more: object) -> str:
        plan = home.ask("POST", PLANS, {**body, **more}).json()
        return next(one["use_by"] for batch in plan["batches"] for one in batch["keeps"] if one["place"] == "fridge")

    found = {}
    for regions in (None, ["US"], ["GB"]):
        assert home.ask("PATCH", "/v1/household", {"regions": regions}, if_match="*").status_code == 200
        stock = home.ask("GET", f"/v1/stock/{entry}").json()["use_by"]
        assert of_plan() == stock
        found[str(regions)] = stock
    assert found["['US']"] > found["['GB']"] == found["None"]
    assert of_plan(regions=["US"]) == found["['US']"]


def test_a_stored_plan_is_made_again_by_the_guidance_that_the_household_has_chosen(home: Home) -> None:
    """The plan is stored whole, with every region; what the household chooses later counts all the same."""
    child = home.kept("/v1/children", child_body())
    offer = {"groups": [{"id": "mains", "items": [{"food": "pasta-tomato-chickpea"}]}]}
    body = {
        **asked(child, name="december"),
        "offers": [{"id": "a", "offer": offer}],
        "prep_days": ["2026-11-29"],
        "dishes": [{"food": "pasta-tomato-chickpea", "batch_portions": 4}],
    }
    made = home.ask("POST", PLANS, body)

    def fridge_until(plan: dict[str, Any]) -> str:
        return next(one["use_by"] for batch in plan["batches"] for one in batch["keeps"] if one["place"] == "fridge")

    strictest = fridge_until(made.json())
    home.ask("PATCH", "/v1/household", {"regions": ["US"]}, if_match="*")
    again = home.ask("POST", f"{PLANS}/{made.json()['id']}/revisions", {}, if_match="*").json()
    assert fridge_until(again) > strictest


SOUP: dict[str, Any] = {"name": "lentil soup", "ingredients": [{"food": "lentils-cooked", "grams": 800}], "portions": 4}


def soup_plan(child: str, recipe: str, **more: Any) -> dict[str, Any]:
    """Three days of soup, made on the day before the first."""
    offer = {"groups": [{"id": "mains", "items": [{"food": recipe}]}]}
    days = [today(1), today(2), today(3)]
    plan = {"days": days, "offers": [{"id": "soup", "offer": offer}], "prep_days": [today()], "no_repeat_days": 0}
    return {**asked(child), **plan, "dishes": [{"food": recipe, "fridge_days": 2}], **more}


def test_a_batch_makes_what_the_stored_recipe_makes_unless_the_plan_says_otherwise(home: Home) -> None:
    child = home.kept("/v1/children", child_body())
    recipe = home.kept("/v1/recipes", SOUP)
    plan = home.ask("POST", PLANS, soup_plan(child, recipe)).json()
    assert [(one["batches"], one["portions"]) for one in plan["batches"]] == [(1, 4)]
    given = {"food": recipe, "batch_portions": 3, "fridge_days": 2}
    plan = home.ask("POST", PLANS, soup_plan(child, recipe, dishes=[given])).json()
    assert [(one["batches"], one["portions"]) for one in plan["batches"]] == [(1, 3)]


@pytest.mark.parametrize(("quantity", "portions"), [(2, 2), (0.5, 8), (1, 4), (1.5, 2)])
def test_a_batch_makes_as_many_portions_of_the_offer_as_there_is_food_in_it(
    home: Home, quantity: float, portions: int
) -> None:
    """Of a soup of four portions, two where two are set out for a child: the prep sheet of a batch has the recipe and no more."""
    child = home.kept("/v1/children", child_body())
    recipe = home.kept("/v1/recipes", SOUP)
    offer = {"groups": [{"id": "mains", "items": [{"food": recipe, "quantity": quantity}]}]}
    plan = home.ask("POST", PLANS, soup_plan(child, recipe, offers=[{"id": "soup", "offer": offer}])).json()
    (made,) = plan["batches"]
    assert made["portions"] == portions * made["batches"]
    batch = {"food": recipe, "quantity": quantity, "portions": made["portions"]}
    sheet = home.ask("POST", "/v1/prep-sheets", {"on": today(), "batches": [batch]}).json()
    whole = made["batches"] * sum(one["grams"] for one in SOUP["ingredients"])
    used = sum(one["exact_grams"] for one in sheet["batches"][0]["ingredients"])
    assert whole * (portions * quantity / 4) == pytest.approx(used, rel=0.001)


def test_a_batch_that_makes_less_than_one_portion_of_the_offer_is_refused(home: Home) -> None:
    child = home.kept("/v1/children", child_body())
    recipe = home.kept("/v1/recipes", SOUP)
    offer = {"groups": [{"id": "mains", "items": [{"food": recipe, "quantity": 5}]}]}
    asked_for = soup_plan(child, recipe, offers=[{"id": "soup", "offer": offer}])
    problem = problem_of(home.ask("POST", PLANS, asked_for), 422, "bad-input")
    assert "less of it than one portion of the offer" in problem["detail"]


def test_a_dish_that_is_no_stored_recipe_must_say_how_many_portions_a_batch_makes(home: Home) -> None:
    child = home.kept("/v1/children", child_body())
    offers = [{"id": "a", "offer": {"groups": [{"id": "mains", "items": [{"food": "pasta-tomato-chickpea"}]}]}}]
    body = {**asked(child), "offers": offers, "dishes": [{"food": "pasta-tomato-chickpea"}]}
    problem = problem_of(home.ask("POST", PLANS, body), 422, "bad-input")
    assert problem["errors"][0]["pointer"] == "#/dishes/0/batch_portions"
    assert "Give `batch_portions`" in problem["detail"]
    whole = {"nickname": "Rowan", "age_years": 8, "standard": "us-school-lunch"}
    with client() as service:
        problem = problem_of(service.post(PLANS, json={**body, "children": [whole]}), 422, "invalid-request")
    assert problem["errors"][0]["pointer"] == "#/dishes/0/batch_portions"


def test_the_stored_stock_that_is_still_good_counts_where_a_plan_says_nothing_of_it(home: Home) -> None:
    """Two portions made today, and two that are over by now: the plan uses the first; an empty list is no stock."""
    child = home.kept("/v1/children", child_body())
    recipe = home.kept("/v1/recipes", SOUP)
    good = home.kept("/v1/stock", stock_body(recipe, 2, made_on=today()))
    home.kept("/v1/stock", stock_body(recipe, 2, made_on=today(-30)))
    home.kept("/v1/stock", stock_body("apple", 2))
    stored = home.kept("/v1/offers", {"name": "soup", "groups": [{"id": "mains", "items": [{"food": recipe}]}]})
    for offers in ({}, {"offers": [{"id": "soup", "offer": stored}]}):
        plan = home.ask("POST", PLANS, soup_plan(child, recipe, **offers)).json()
        assert {one["lot"] for one in plan["from_stock"]} == {good}
        assert sum(one["portions"] for one in plan["from_stock"]) == 2
    for more in ({"stock": []}, {"stock": [{"id": "mine", "food": "apple", "grams": 100, "place": "fridge"}]}):
        assert home.ask("POST", PLANS, soup_plan(child, recipe, **more)).json()["from_stock"] == []
    named = home.ask("POST", PLANS, soup_plan(child, recipe, name="soup week")).json()
    assert [one["id"] for one in home.ask("GET", f"{PLANS}/{named['id']}").json()["asked"]["stock"]] == [good]
