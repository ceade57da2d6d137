"""The pages of plans: one press makes one, a day is kept or changed, it is planned again, and what moved is said.

What a plan decides is tried in ``tests/jobs/plan``; here, that the pages ask for it, store it and say it.
"""

import json
import re
from datetime import date, timedelta
from typing import Any

import pytest
from babel.dates import format_date
from pydantic_core import to_json

from service.jobs.household.settings import edit_settings
from service.web.plan.form import next_monday
from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.reading import Page

STEW = {
    "name": "bean stew",
    "ingredients": [{"food": "beans-black-cooked", "grams": 600}, {"food": "corn-cooked", "grams": 200}],
    "portions": 4,
}
NOBODY = "01900000-0000-7000-8000-000000000999"
MEAL = {"name": "Bean chili", "contains": "Contains celery."}


@pytest.fixture
def planning(small_kitchen: Kitchen) -> Kitchen:
    """A child, two offers, one of them with a dish of the household's own."""
    dish = small_kitchen.keep("recipes", STEW)
    stew = {"id": "main", "items": [{"food": dish, "quantity": 1, "unit": "portion"}]}
    bread = {"id": "main", "items": [{"food": "sandwich-turkey-cheese"}]}
    fruit = {"id": "fruit", "items": [{"food": "apple"}, {"food": "pear"}]}
    small_kitchen.keep("offers", {"name": "stew day", "groups": [stew, fruit]})
    small_kitchen.keep("offers", {"name": "bread day", "groups": [bread, fruit]})
    return small_kitchen


@pytest.fixture
def monday(on: date) -> date:
    """The first day of the plan that one press makes."""
    return next_monday(on)


def kept(browser: Browser) -> list[dict[str, Any]]:
    """All plans that are stored."""
    found: list[dict[str, Any]] = browser.client.get("/v1/plans").json()["items"]
    return found


def made(browser: Browser, **typed: Any) -> Page:
    """The page of a plan that was just made."""
    return browser.send(browser.get("/plans/new"), "/plans/new", button="Make a plan", **typed)


def offers_of(plan: dict[str, Any]) -> dict[str, str]:
    """What stands on each day."""
    return {one["day"]: one["offer"] for one in plan["decisions"]["days"]}


def change(browser: Browser, day: date, **said: str) -> Page:
    """Say something of a day of the only plan."""
    address = f"/plans/{kept(browser)[0]['id']}/day/{day}"
    return browser.send(browser.get(address), address, **said)


def again(browser: Browser) -> Page:
    """Plan the only plan again."""
    address = f"/plans/{kept(browser)[0]['id']}"
    return browser.send(browser.get(address), f"{address}/again")


def lock(browser: Browser, page: Page, **fields: str) -> Page:
    """Press the lock of a day or of a batch."""
    form = next(one for one in page.forms if one.action.endswith("/lock") and set(fields.items()) <= set(one.fields))
    browser.last = browser.client.post(form.action, data=form.data(), headers=OURS)
    assert browser.last.status_code == 200
    return Page(browser.last.text)


def test_one_press_gives_a_plan_and_the_same_form_twice_keeps_one(planning: Kitchen, monday: date) -> None:
    browser = planning.browser()
    assert "No plan is kept" in browser.get("/plans").text
    form = browser.get("/plans/new")
    for _twice in range(2):
        page = browser.send(form, "/plans/new", button="Make a plan")
    (plan,) = kept(browser)
    assert browser.address == f"/plans/{plan['id']}"
    assert plan["asked"]["days"] == [(monday + timedelta(day)).isoformat() for day in range(5)]
    assert {date.fromisoformat(one).weekday() for one in plan["asked"]["prep_days"]} == {6}
    assert plan["asked"]["dishes"][0]["batch_portions"] is None  # as the recipe says, in the portions of the offer
    assert set(offers_of(plan).values()) == {"stew day", "bread day"}
    assert all(name in page.text for name in ("stew day", "bread day", "How good it is", "Week of"))
    assert re.search(r"Make \d+ batch(es)? of bean stew, \d+ portions: ", page.text)
    assert f"/plans/{plan['id']}" in {address for address, _words in browser.get("/plans").links}


def test_a_plan_that_was_given_no_name_is_named_by_its_days_in_the_language_of_whoever_looks(
    planning: Kitchen, monday: date
) -> None:
    """Two such plans may stand side by side; a name that was given is the same in every language."""
    browser = planning.browser()
    for typed in ({}, {}, {"name": "before the holidays"}):
        browser.send(browser.get("/plans/new"), "/plans/new", button="Make a plan", **typed)
    assert [one["name"] for one in kept(browser)] == [None, None, "before the holidays"]
    unnamed = kept(browser)[0]["id"]
    days = (monday, monday + timedelta(days=4))
    for language, joined in (("en", "to"), ("es", "a")):
        first, last = (format_date(day, "EEE d MMM", locale=language) for day in days)
        seen = planning.browser(language=language)
        for address in ("/plans", f"/plans/{unnamed}", f"/plans/{unnamed}/day/{monday}"):
            assert f"{first} {joined} {last}" in seen.get(address).text
        assert "before the holidays" in seen.get("/plans").text


def test_what_is_chosen_is_asked(planning: Kitchen, monday: date) -> None:
    browser = planning.browser()
    start = browser.get("/plans/new")
    dish = dict(start.form("/plans/new").fields)["dishes"]
    off = [(monday + timedelta(day)).isoformat() for day in (0, 8)]
    typed = {f"minutes-{dish}": "45", "weeks": "2", "prep": ["2", "6"], "off": off, "amounts": "usual", "apart": "1"}
    browser.send(start, "/plans/new", button="Make a plan", name="before the holidays", frozen=[], **typed)
    (plan,) = kept(browser)
    asked = plan["asked"]
    assert plan["name"] == "before the holidays"
    assert not set(off) & set(asked["days"])
    assert len(asked["days"]) == 8
    assert {date.fromisoformat(one).weekday() for one in asked["prep_days"]} == {2, 6}
    assert (asked["amounts"], asked["no_repeat_days"], asked["dishes"][0]["minutes"]) == ("usual", 1, 45)
    assert asked["dishes"][0]["freezer_days"] is None


def test_faults_stand_at_their_fields_and_what_was_typed_stays(planning: Kitchen, monday: date) -> None:
    browser = planning.browser()
    start = browser.get("/plans/new")
    dish = dict(start.form("/plans/new").fields)["dishes"]
    wrong = {"from": "soon", "weeks": "9", f"minutes-{dish}": "long", "name": "my plan"}
    page = browser.send(start, "/plans/new", status=422, button="Make a plan", offers=[], children=[], **wrong)
    pointed = {address for address, _words in page.links}
    assert {"#from", "#weeks", "#offers", "#children", f"#minutes-{dish}"} <= pointed
    assert {("from", "soon"), ("name", "my plan"), (f"minutes-{dish}", "long")} <= set(page.form("/plans/new").fields)
    all_off = [(monday + timedelta(day)).isoformat() for day in range(5)]
    page = browser.send(start, "/plans/new", status=422, button="Make a plan", off=all_off)
    assert "#off" in {address for address, _words in page.links}
    page = browser.send(start, "/plans/new", status=422, button="Make a plan", **{"from": "2020-01-06"})
    assert "#from" in {address for address, _words in page.links}
    two = browser.send(start, "/plans/new", status=422, button="Make a plan", way="lunches")
    assert "#offers" in {address for address, _words in two.links}
    assert kept(browser) == []
    made(browser, name="my plan")
    page = browser.send(browser.get("/plans/new"), "/plans/new", status=422, button="Make a plan", name="my plan")
    assert "Another plan has this name already" in page.text
    assert len(kept(browser)) == 1


def test_other_days_are_shown_without_making_a_plan(planning: Kitchen, monday: date) -> None:
    browser = planning.browser()
    typed = {"weeks": "3", "name": "my plan", "offers": []}
    page = browser.send(browser.get("/plans/new"), "/plans/new", button="Show the days", **typed)
    fields = page.form("/plans/new").fields
    assert ("name", "my plan") in fields
    assert not [value for name, value in fields if name == "offers"]
    assert page.html.count('name="off"') == 15
    assert kept(browser) == []


def test_a_locked_day_stays_while_the_rest_is_planned_again(planning: Kitchen, monday: date) -> None:
    browser = planning.browser()
    page = made(browser)
    (plan,) = kept(browser)
    stays, goes = monday + timedelta(2), monday + timedelta(1)
    page = lock(browser, page, day=stays.isoformat(), stays="yes")
    assert kept(browser)[0]["locked"]["days"] == [stays.isoformat()]
    assert "Let it change" in page.text
    page = change(browser, goes, school="no")
    assert "Something was changed since this was planned" in page.text
    page = again(browser)
    (now,) = kept(browser)
    assert goes.isoformat() not in offers_of(now)
    assert offers_of(now)[stays.isoformat()] == offers_of(plan)[stays.isoformat()]
    assert now["found"]["before"] == plan["decisions"]
    assert "is not planned any more" in page.text
    assert "No school" in page.text
    assert "Something was changed" not in page.text
    lock(browser, page, day=stays.isoformat(), stays="no")
    assert kept(browser)[0]["locked"]["days"] == []
    unmoved = again(browser).text
    assert "Nothing changed: the plan stays as it was." in unmoved
    assert "0 things" not in unmoved
    page = change(browser, goes, school="yes")
    assert "Something was changed since this was planned" in page.text
    assert "Nothing changed" not in page.text  # the two stood above each other
    again(browser)
    assert goes.isoformat() in offers_of(kept(browser)[0])


def test_a_batch_is_kept_as_it_is(planning: Kitchen) -> None:
    browser = planning.browser()
    page = made(browser)
    batch = kept(browser)[0]["decisions"]["batches"][0]
    lock(browser, page, day=batch["made_on"], food=batch["food"], stays="yes")
    assert kept(browser)[0]["locked"]["batches"] == [{"food": batch["food"], "made_on": batch["made_on"]}]
    again(browser)
    assert batch in kept(browser)[0]["decisions"]["batches"]


def test_a_child_buys_where_the_meal_is_known_and_not_where_it_is_to_take_its_own(
    planning: Kitchen, monday: date
) -> None:
    tuesday = monday + timedelta(1)
    browser = planning.browser()
    made(browser)
    assert "meal on this day is not known" in browser.get(f"/plans/{kept(browser)[0]['id']}/day/{tuesday}").text
    planning.keep("school_days", {"date": tuesday.isoformat(), "menu": MEAL})
    change(browser, tuesday, **{"child-0": "buys"})
    assert "Ash buys at school" in again(browser).text
    assert kept(browser)[0]["decisions"]["days"][1]["buyers"] == [0]
    change(browser, tuesday, **{"child-0": "packed"})
    assert "Ash does not buy the school's meal any more" in again(browser).text
    change(browser, tuesday, **{"child-0": "away"})
    assert "Ash is not at school" in again(browser).text


def test_who_buys_is_known_from_the_school_days(planning: Kitchen, monday: date) -> None:
    wednesday = (monday + timedelta(2)).isoformat()
    planning.keep("school_days", {"date": wednesday, "menu": MEAL, "buys": [planning.children["Ash"]]})
    browser = planning.browser()
    assert (f"most-{planning.children['Ash']}", "1") in browser.get("/plans/new").form("/plans/new").fields
    made(browser)
    assert [one["day"] for one in kept(browser)[0]["decisions"]["days"] if one["buyers"]] == [wednesday]


def test_a_lunch_for_each_child_says_what_is_not_right_and_the_bound(planning: Kitchen) -> None:
    browser = planning.browser()
    offers = dict(browser.get("/plans/new").form("/plans/new").fields)["offers"]
    page = made(browser, way="lunches", offers=[offers])
    assert kept(browser)[0]["found"]["search"]["bound"] is not None
    assert "No plan of these foods" in page.text
    assert "turkey and cheese" in page.text
    assert "How are lunches kept cold" in page.text
    assert "Set these days out" not in page.text


def test_other_prep_days_and_setting_out(planning: Kitchen, monday: date) -> None:
    browser = planning.browser()
    page = made(browser)
    (plan,) = kept(browser)
    page = browser.send(page, f"/plans/{plan['id']}/prep-days", prep=["0", "3"])
    asked = kept(browser)[0]["asked"]
    assert {date.fromisoformat(one).weekday() for one in asked["prep_days"]} == {0, 3}
    page = again(browser)
    assert {date.fromisoformat(one["made_on"]).weekday() for one in kept(browser)[0]["decisions"]["batches"]} <= {0, 3}
    browser.send(page, f"/plans/{plan['id']}/set-out")
    assert browser.address == "/set-out"
    assert kept(browser)[0]["set_out_on"] is not None
    days = browser.client.get("/v1/school-days").json()["items"]
    names = {one["id"]: one["name"] for one in browser.client.get("/v1/offers").json()["items"]}
    assert {one["date"]: names[one["offer"]] for one in days} == offers_of(kept(browser)[0])


def test_today_says_that_it_is_prep_day_and_what_is_moved_tonight(planning: Kitchen, on: date) -> None:
    dish = planning.keep("recipes", {**STEW, "name": "rice pot"})
    days = [(on + timedelta(number)).isoformat() for number in (0, 1)]
    asked = {"days": days, "children": [planning.children["Ash"]], "offers": [{"id": "a", "offer": {"groups": [{"id": "main", "items": [{"food": dish}]}]}}]}  # fmt: skip
    moved = {"evening": days[0], "food": dish, "portions": 2, "for_day": days[1]}
    decisions = {"batches": [{"food": dish, "made_on": days[0], "batches": 3}]}
    plan = planning.keep("plans", {"name": "p", "asked": asked, "decisions": decisions, "found": {"moves": [moved]}})
    page = planning.browser().get("/")
    said = [words for address, words in page.links if address == f"/plans/{plan}"]
    assert "Today is prep day: 3 batches (rice pot)" in " ".join(said)
    assert "move 2 portions of rice pot from the freezer to the fridge" in " ".join(said)
    planning.keep("stock", {"food": dish, "place": "freezer", "portions": 4, "made_on": on.isoformat()})
    with planning.store.writing() as connection:
        edit_settings(connection, planning.id, to_json({"keep_in_fridge": [{"food": dish, "portions": 2}]}))
    page = planning.browser().get("/")
    assert "Move 2 portions of rice pot" in page.text
    assert len([words for address, words in page.links if address == f"/plans/{plan}"]) == 1  # the stock says the move


def test_a_plan_that_cannot_be_judged_any_more_says_why_and_can_be_removed(planning: Kitchen) -> None:
    browser = planning.browser()
    made(browser)
    (plan,) = kept(browser)
    child = browser.client.get("/v1/children").json()["items"][0]
    grown = {"birth_month": "2001-01", "age_group": None}
    address = f"/v1/children/{child['id']}"
    headers = {
        **OURS,
        "If-Match": browser.client.get(address).headers["ETag"],
        "Content-Type": "application/merge-patch+json",
    }
    assert browser.client.patch(address, content=json.dumps(grown), headers=headers).status_code == 200
    page = browser.get(f"/plans/{plan['id']}")
    assert "cannot be judged any more" in page.text
    browser.send(page, f"/plans/{plan['id']}/remove")
    assert browser.address == "/plans"
    assert kept(browser) == []


def test_an_old_page_changes_nothing(planning: Kitchen, monday: date) -> None:
    browser = planning.browser()
    page = made(browser)
    (plan,) = kept(browser)
    change(browser, monday, school="no")
    (edited,) = kept(browser)
    browser.send(page, f"/plans/{plan['id']}/again", status=409)
    browser.send(page, f"/plans/{plan['id']}/set-out", status=409)
    browser.send(page, f"/plans/{plan['id']}/remove")
    assert kept(browser) == [edited]


def test_the_last_school_day_stays_and_what_is_not_listed_is_refused(planning: Kitchen, monday: date) -> None:
    browser = planning.browser()
    rest = [(monday + timedelta(day)).isoformat() for day in range(1, 5)]
    made(browser, off=rest)
    address = f"/plans/{kept(browser)[0]['id']}/day/{monday}"
    page = browser.send(browser.get(address), address, status=422, school="no")
    assert "#school" in {link for link, _words in page.links}
    page = browser.send(browser.get(address), address, status=422, **{"child-0": "sleeps"})
    assert "#child-0" in {link for link, _words in page.links}


def test_who_may_what(planning: Kitchen, monday: date) -> None:
    browser = planning.browser()
    made(browser)
    (plan,) = kept(browser)
    address = f"/plans/{plan['id']}"
    packer = planning.browser("pack")
    page = packer.get(address)
    assert not [one for one in page.forms if one.action.startswith("/plans")]
    assert not [link for link, _words in page.links if "/day/" in link]
    assert not [link for link, _words in packer.get("/plans").links if link == "/plans/new"]
    packer.get("/plans/new", 403)
    child = planning.browser("take", planning.children["Ash"])
    for path in ("/plans", address, "/plans/new", f"{address}/day/{monday}"):
        child.get(path, 403)
    for path in (f"/plans/{NOBODY}", f"/plans/{NOBODY}/day/{monday}", f"{address}/day/2020-01-01", "/plans/nothing"):
        browser.get(path, 404)
    for form in ("again", "lock", "set-out", "remove", "prep-days", f"day/{monday}"):
        refused = browser.client.post(f"{address}/{form}", data={"version": "1"}, headers=OURS)
        assert refused.status_code == 403, form  # without its token
    assert kept(browser) == [plan]


def test_it_speaks_spanish(planning: Kitchen) -> None:
    browser = planning.browser(language="es")
    page = browser.send(browser.get("/plans/new"), "/plans/new", button="Hacer un plan")
    assert "Qué tal es el plan" in page.text
    assert "tanda" in page.text
    assert "How" not in page.text


def test_without_children_or_offers_it_says_what_to_do_first(new_kitchen: Kitchen) -> None:
    browser = new_kitchen.browser()
    assert "/start" in {link for link, _words in browser.get("/plans/new").links}
    browser.client.post("/plans/new", data={}, headers=OURS)
    assert kept(browser) == []
