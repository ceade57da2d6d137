"""The week: all children on one page, each with bars and what came back, and a day logged by a parent."""

from datetime import date, timedelta
from typing import Any

from service.domain.allergens.screening import OUTCOME_RANK
from service.jobs.household.kinds import CHILDREN, FOODS
from service.jobs.household.records import edit_record, remove_record, show_record
from service.jobs.weeks.requests import monday_of, week_of
from service.reference.messages import page_catalogue
from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.reading import Page


def logged(kitchen: Kitchen, browser: Browser, child: str, on: date, **typed: Any) -> Page:
    """The page after a day's form was sent with some fields typed into."""
    address = f"/week/{child}/{on}"
    form = browser.get(address).form(address)
    data = {**form.data(), **{name: value if isinstance(value, list) else [value] for name, value in typed.items()}}
    data.setdefault("do", ["save"])
    browser.last = browser.client.post(form.action, data=data, headers=OURS)
    return Page(browser.last.text)


def any_school_day(kitchen: Kitchen, child: str, on: date) -> date:
    """A day of the week before, on which a child's lunch was packed."""
    monday = monday_of(week_of(on)) - timedelta(days=7)
    days = [monday + timedelta(days=one) for one in range(5)]
    return next(day for day in days if (kitchen.lunch(child, day) or {"kind": ""})["kind"] == "packed")


def test_all_children_stand_on_one_page_with_marks_and_a_legend(kitchen: Kitchen, on: date) -> None:
    there = kitchen.browser().get(f"/week?week={week_of(on - timedelta(days=7))}")
    for nickname in kitchen.children:
        assert nickname in there.text
    for words in (
        "enough that day",
        "some, but not enough",
        "none that day",
        "not known",
        "This week lacks",
        "packed lunches: $",
    ):
        assert words in there.text
    assert "at least $" not in there.text
    assert "oz eq" not in there.text
    assert "ounce equivalent" not in there.text
    assert " style=" not in there.html
    before, after = (f"/week?week={week_of(on + timedelta(days=days))}" for days in (-14, 0))
    assert {before, after} <= {address for address, _words in there.links}


def test_a_week_that_is_not_logged_in_full_says_how_many_days_are_counted(kitchen: Kitchen, on: date) -> None:
    rowan = kitchen.children["Rowan"]
    week = week_of(on - timedelta(days=7))
    said = "Only 4 of 5 school days are logged so far."
    assert said not in kitchen.browser().get(f"/week/{rowan}?week={week}").text
    day = any_school_day(kitchen, rowan, on)
    parent = kitchen.browser()
    parent.send(parent.get(f"/week/{rowan}/{day}"), f"/week/{rowan}/{day}/remove")
    for address in (f"/week/{rowan}?week={week}", f"/week?week={week}"):
        assert said in parent.get(address).text


def test_a_childs_page_says_in_words_what_its_bars_show(kitchen: Kitchen, on: date) -> None:
    rowan = kitchen.children["Rowan"]
    there = kitchen.browser().get(f"/week/{rowan}?week={week_of(on - timedelta(days=7))}")
    words, _figures, behind = there.html.partition("<summary>Show figures")
    assert "ounce equivalent" not in words
    assert "CFR" not in words
    assert "ounce equivalent" in behind
    assert words.count('<svg class="bar"') == words.count("</desc>")
    assert "It is a yardstick" in there.text


def test_the_question_about_salted_water_leads_to_where_a_person_answers_it(kitchen: Kitchen, on: date) -> None:
    browser, packer = kitchen.browser(), kitchen.browser("pack")
    weeks = [
        f"/week/{child}?week={week_of(on - timedelta(days=days))}"
        for child in kitchen.children.values()
        for days in (0, 7)
    ]
    asked = [one for one in weeks if "No salt is counted until you say." in browser.get(one).text]
    assert asked
    question = browser.get(asked[0])
    assert ("/care#salts", "Say whether you salt the water") in question.links
    assert "PATCH" not in question.text
    assert "--no-salt" not in question.text
    assert "No salt is counted until you say." in packer.get(asked[0]).text
    care = browser.get("/care")
    assert '<fieldset id="salts"' in care.html
    browser.send(care, "/care/household", salts="no")
    for one in asked:
        assert "No salt is counted until you say." not in browser.get(one).text


def test_what_came_back_is_noted_and_shown(kitchen: Kitchen, on: date) -> None:
    rowan = kitchen.children["Rowan"]
    day = any_school_day(kitchen, rowan, on)
    browser = kitchen.browser()
    there = browser.get(f"/week/{rowan}?week={week_of(day)}")
    after = browser.send(
        there, f"/week/{rowan}/came-back/{day}", **{"item-0": "half", "item-1": "all", "item-2": "some"}
    )
    lunch = kitchen.lunch(rowan, day)
    assert lunch is not None
    shares = {one["item"]: one["share"] for one in lunch["uneaten"]}
    assert (shares[0], shares[1], shares[2]) == (0.5, 1.0, 0.25)
    assert "Half came back" in after.text
    stale = browser.client.post(
        f"/week/{rowan}/came-back/{day}", data=there.form(f"/week/{rowan}/came-back/{day}").data(), headers=OURS
    )
    assert stale.status_code == 409


def test_a_day_is_logged_from_what_is_set_out_and_another_food(kitchen: Kitchen, on: date) -> None:
    rowan = kitchen.children["Rowan"]
    offer = kitchen.set_out("usual mornings", on)
    browser = kitchen.browser()
    address = f"/week/{rowan}/{on}"
    there = browser.get(address)
    found = browser.send(there, address, "Find", q="blueberries")
    assert "blueberries" in found.text
    form = found.form(address)
    data = form.data("Save this day", take=["fruit~apple"], add=["blueberries"])
    browser.client.post(form.action, data=data, headers=OURS)
    lunch = kitchen.lunch(rowan, on)
    assert lunch is not None
    assert [one["food"] for one in lunch["items"]] == ["blueberries", "apple"]
    assert lunch["offer"] == offer


def test_a_corrected_item_keeps_what_is_known_of_it_and_what_came_back(kitchen: Kitchen, on: date) -> None:
    rowan = kitchen.children["Rowan"]
    day = any_school_day(kitchen, rowan, on)
    browser = kitchen.browser()
    noted = browser.get(f"/week/{rowan}?week={week_of(day)}")
    browser.send(noted, f"/week/{rowan}/came-back/{day}", **{"item-2": "half"})
    before = kitchen.lunch(rowan, day)
    assert before is not None
    address = f"/week/{rowan}/{day}"
    there = browser.get(address)
    form = there.form(address)
    amounts = form.data()["quantity"]
    browser.client.post(
        form.action, data=form.data("Save this day", drop=["0"], quantity=[amounts[0], "2", *amounts[2:]]), headers=OURS
    )
    after = kitchen.lunch(rowan, day)
    assert after is not None
    assert after["items"] == [{**before["items"][1], "quantity": 2.0}, *before["items"][2:]]
    assert {"item": 1, "share": 0.5} in after["uneaten"]
    assert after["holding"] == before["holding"]


def test_what_must_not_be_packed_needs_a_reason(kitchen: Kitchen, on: date) -> None:
    linden = kitchen.children["Linden"]
    browser = kitchen.browser()
    refused = logged(kitchen, browser, linden, on, add="peanut-butter-smooth")
    assert browser.last.status_code == 409, refused.text
    assert "This must not be packed for Linden" in refused.text
    assert "send acknowledged" not in refused.text
    assert kitchen.lunch(linden, on) is None
    form = refused.form(f"/week/{linden}/{on}")
    assert form.data()["what"] == ["food~peanut-butter-smooth"], "what was typed is kept"
    data = form.data("Save this day", reason="for the teacher, not for Linden")
    assert browser.client.post(form.action, data=data, headers=OURS).status_code == 200
    lunch = kitchen.lunch(linden, on)
    assert lunch is not None
    assert lunch["acknowledged"]["reason"] == "for the teacher, not for Linden"
    week = browser.get(f"/week/{linden}?week={week_of(on)}")
    assert week.text.index("Linden must not have peanut") < week.text.index("Day by day")


def test_a_bought_lunch_takes_the_meal_of_the_school_day(kitchen: Kitchen, on: date) -> None:
    rowan = kitchen.children["Rowan"]
    browser = kitchen.browser()
    logged(kitchen, browser, rowan, on, kind="bought", **{"menu-name": "Soup & bread"})
    lunch = kitchen.lunch(rowan, on)
    assert lunch is not None
    assert (lunch["kind"], lunch["menu"]["name"]) == ("bought", "Soup & bread")
    assert "Soup &amp; bread" in browser.get(f"/week?week={week_of(on)}").html
    there = browser.get(f"/week/{rowan}/{on}")
    browser.send(there, f"/week/{rowan}/{on}/remove")
    assert kitchen.lunch(rowan, on) is None


def test_a_wrong_amount_is_said_and_nothing_is_lost(kitchen: Kitchen, on: date) -> None:
    rowan = kitchen.children["Rowan"]
    browser = kitchen.browser()
    there = logged(kitchen, browser, rowan, on, what="food~apple", quantity="two", unit="g")
    assert browser.last.status_code == 409
    assert "'two'" in there.text or "two" in there.text
    assert there.form(f"/week/{rowan}/{on}").data()["quantity"] == ["two"]
    assert kitchen.lunch(rowan, on) is None


def test_two_devices_that_log_the_same_day_see_both_versions(kitchen: Kitchen, on: date) -> None:
    rowan = kitchen.children["Rowan"]
    one, other = kitchen.browser(), kitchen.browser()
    address = f"/week/{rowan}/{on}"
    late = other.get(address).form(address)
    logged(kitchen, one, rowan, on, add="apple")
    answer = other.client.post(late.action, data=late.data("Save this day", add=["banana"]), headers=OURS)
    assert answer.status_code == 409
    there = Page(answer.text)
    assert "The lunch is now: apple" in there.text
    assert there.form(address).data()["what"] == ["food~banana"]
    other.send(there, address, "Save this day")
    lunch = kitchen.lunch(rowan, on)
    assert lunch is not None
    assert [item["food"] for item in lunch["items"]] == ["banana"]


def test_items_of_a_lunch_that_changed_meanwhile_stay_the_foods_that_they_were(kitchen: Kitchen, on: date) -> None:
    rowan = kitchen.children["Rowan"]
    one, other = kitchen.browser(), kitchen.browser()
    address = f"/week/{rowan}/{on}"
    logged(kitchen, one, rowan, on, add=["apple", "banana"])
    late = other.get(address).form(address)
    form = one.get(address).form(address)
    one.client.post(form.action, data=form.data("Save this day", drop=["0"]), headers=OURS)
    answer = other.client.post(late.action, data=late.data("Save this day"), headers=OURS)
    assert answer.status_code == 409
    other.send(Page(answer.text), address, "Save this day")
    lunch = kitchen.lunch(rowan, on)
    assert lunch is not None
    assert [item["food"] for item in lunch["items"]] == ["apple", "banana"]


def test_an_edited_food_is_offered_to_be_taken_over(kitchen: Kitchen, on: date) -> None:
    rowan = kitchen.children["Rowan"]
    browser = kitchen.browser()
    own = kitchen.keep(
        "foods", {"name": "Seed bar", "serving": {"grams": 30}, "facts": {"energy_kcal": 120, "sodium_mg": 20}}
    )
    logged(kitchen, browser, rowan, on, add=own)
    with kitchen.store.writing() as connection:
        there = show_record(connection, FOODS, kitchen.id, own)
        edit_record(
            connection, FOODS, kitchen.id, str(there.id), lambda _now: None, b'{"facts": {"energy_kcal": 150}}', None
        )
    week = browser.get(f"/week/{rowan}?week={week_of(on)}")
    assert "Seed bar was edited after it was logged" in week.text
    after = browser.send(week, f"/week/{rowan}/take-over")
    assert "was edited after it was logged" not in after.text


def test_a_device_that_packs_sees_the_week_and_notes_todays_leftovers_only(kitchen: Kitchen, on: date) -> None:
    rowan = kitchen.children["Rowan"]
    parent, packer = kitchen.browser(), kitchen.browser("pack")
    logged(kitchen, parent, rowan, on, add="apple")
    day = on - timedelta(days=7) if kitchen.lunch(rowan, on - timedelta(days=7)) else any_school_day(kitchen, rowan, on)
    there = packer.get(f"/week/{rowan}?week={week_of(on)}")
    forms = [form.action for form in there.forms if "came-back" in form.action]
    assert forms == [f"/week/{rowan}/came-back/{on}"]
    packer.send(there, forms[0], **{"item-0": "all"})
    lunch = kitchen.lunch(rowan, on)
    assert lunch is not None
    assert lunch["uneaten"] == [{"item": 0, "share": 1.0}]
    packer.get(f"/week/{rowan}/{on}", 403)
    token = there.form(forms[0]).data()["token"]
    earlier = kitchen.lunch(rowan, day)
    refused = packer.client.post(
        f"/week/{rowan}/came-back/{day}", data={"token": token, "version": "1", "item-0": "all"}, headers=OURS
    )
    assert refused.status_code == 403
    assert kitchen.lunch(rowan, day) == earlier


def test_a_childs_device_sees_no_week(kitchen: Kitchen) -> None:
    rowan = kitchen.children["Rowan"]
    browser = kitchen.browser("take", rowan)
    for address in ("/week", f"/week/{rowan}", f"/week/{rowan}/2026-11-27"):
        browser.get(address, 403)


def test_forms_without_their_token_or_from_elsewhere_change_nothing(kitchen: Kitchen, on: date) -> None:
    rowan = kitchen.children["Rowan"]
    browser = kitchen.browser()
    address = f"/week/{rowan}/{on}"
    data = browser.get(address).form(address).data("Save this day", add=["apple"])
    assert browser.client.post(address, data={**data, "token": ["x"]}, headers=OURS).status_code == 403
    assert browser.client.post(address, data=data, headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403
    assert kitchen.lunch(rowan, on) is None


def test_another_households_child_and_a_week_that_is_none_are_said(kitchen: Kitchen) -> None:
    browser = kitchen.browser()
    for address in ("/week/01900000-0000-7000-8000-0000000000ff", "/week/nobody", "/week/nobody/2026-11-27"):
        browser.get(address, 404)
    assert "is not a week" in browser.get("/week?week=soon", 422).text


def test_typed_names_are_shown_escaped(kitchen: Kitchen, on: date) -> None:
    child = kitchen.keep(
        "children", {"nickname": "<b>Ash</b>", "standard": "us-school-lunch", "age_group": "grades-k-5"}
    )
    browser = kitchen.browser()
    for address in ("/week", f"/week/{child}", f"/week/{child}/{on}", "/bought"):
        assert "<b>Ash" not in browser.get(address).html


def test_standards_of_frequencies_and_without_food_groups_have_their_week_too(kitchen: Kitchen, on: date) -> None:
    browser = kitchen.browser()
    for nickname, standard, born in (
        ("Fern", "gb-eng-school-food-2014", "2018-03"),
        ("Moss", "jp-school-lunch", "2018-03"),
    ):
        child = kitchen.keep("children", {"nickname": nickname, "standard": standard, "birth_month": born})
        logged(kitchen, browser, child, on, add=["apple", "bread-whole-wheat"])
        there = browser.get(f"/week/{child}?week={week_of(on)}")
        assert f"{nickname}: week of" in there.text
        assert "Show figures" in there.text


def test_a_household_without_children_is_led_on(new_kitchen: Kitchen) -> None:
    child = new_kitchen.keep("children", {"nickname": "Ash", "standard": "us-school-lunch", "age_group": "grades-k-5"})
    browser = new_kitchen.browser()
    with new_kitchen.store.writing() as connection:
        remove_record(connection, CHILDREN, new_kitchen.id, child, lambda _version: None)
    assert "Add a child" in browser.get("/week").text
    assert "there is no meal on the menu" in browser.get("/bought").text


def test_every_outcome_of_a_screening_has_its_words() -> None:
    texts = page_catalogue("en").texts
    for outcome in OUTCOME_RANK:
        name = outcome.replace("_", "-")
        if outcome != "not_declared":
            assert f"week.warn-{name}-stop" in texts
        if outcome in ("check_label", "may_contain"):
            assert f"week.warn-{name}" in texts


def test_a_form_that_says_nothing_of_a_lunch_but_a_reason_is_answered(kitchen: Kitchen, on: date) -> None:
    """No kind, no food: it comes back with what is to be filled in."""
    rowan = kitchen.children["Rowan"]
    browser = kitchen.browser()
    address = f"/week/{rowan}/{on}"
    data = {"token": browser.get(address).form(address).data()["token"], "version": "", "reason": "late", "do": "save"}
    answer = browser.client.post(address, data=data, headers=OURS)
    assert answer.status_code == 409
    assert "Save this day" in answer.text
    assert kitchen.lunch(rowan, on) is None


def test_what_is_wrong_with_an_item_of_a_day_stands_at_the_item(kitchen: Kitchen, on: date) -> None:
    items = [{"food": "apple"}, {"food": "pear"}, {"food": "milk-1-percent"}]
    child = kitchen.children["Rowan"]
    kitchen.keep("lunches", {"child": child, "date": on.isoformat(), "kind": "packed", "items": items})
    browser, day = kitchen.browser(), f"/week/{child}/{on}"
    page = browser.send(browser.get(day), day, "Save this day", status=409, quantity=["lots", "1", "-4"])
    assert [address for address, words in page.links if "is not a plain number" in words] == ["#item-0", "#item-2"]
    assert 'id="item-0-fault">“lots” is not a plain number' in page.html
    assert 'id="item-2-fault">“-4” is not a plain number' in page.html
    assert ("quantity", "lots") in page.form(day).fields
