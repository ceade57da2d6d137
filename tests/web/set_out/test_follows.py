"""What follows from an offer: for each child how many lunches are ready, why not, and changes that do what they promise."""

import json
import re
from datetime import date, timedelta

import pytest

from service.jobs.household.kinds import CHILDREN
from service.jobs.household.offers.set_out import audit_for_family, weeks_of
from service.jobs.household.records import edit_record
from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.reading import Page

KEPT = b'{"holding": {"insulated": true, "cold_sources": 2, "minutes_until_eaten": 240}}'


@pytest.fixture
def offer(kitchen: Kitchen, on: date) -> str:
    """The usual mornings, set out today, by a household that has said how lunches are kept."""
    from service.jobs.household.settings import edit_settings

    with kitchen.store.writing() as connection:
        edit_settings(connection, kitchen.id, KEPT)
    return kitchen.set_out("usual mornings", on)


@pytest.fixture
def parent(kitchen: Kitchen) -> Browser:
    """A device that may do everything."""
    return kitchen.browser()


def avoid(kitchen: Kitchen, child: str, *what: str) -> None:
    """Have a child avoid something."""
    with kitchen.store.writing() as connection:
        parts = json.dumps({"avoids": [{"allergen": one} for one in what]}).encode()
        edit_record(connection, CHILDREN, kitchen.id, kitchen.children[child], lambda _v: None, parts, None)


def test_how_many_are_ready_and_why_not_is_said_with_the_item(parent: Browser, offer: str) -> None:
    text = parent.get(f"/set-out/{offer}").text
    assert "Rowan ? 12 of 18 ready Not enough grains, in 6 lunches; 6 of them have rice and bean pot." in text
    assert "ready 18" not in text


def test_lunches_that_are_not_kept_cold_say_so_and_lead_to_where_it_is_changed(
    kitchen: Kitchen, parent: Browser, offer: str
) -> None:
    """Source: USDA, Keeping "Bag" Lunches Safe (usda-bag-lunch-2019): two cold sources, or eaten within two hours."""
    from service.jobs.household.settings import edit_settings

    with kitchen.store.writing() as connection:
        edit_settings(connection, kitchen.id, KEPT.replace(b'"cold_sources": 2', b'"cold_sources": 0'))
    page = parent.get(f"/set-out/{offer}?helps=yes")
    assert "Rowan ? 0 of 18 ready In 18 lunches: " in page.text
    assert "not kept cold enough until eaten. Pack food that spoils in an insulated bag" in page.text
    assert ("#kept", "Change how lunches are kept cold") in page.links
    assert "change how lunches are kept first" in page.text
    right = parent.get(f"/set-out/{offer}/right").text
    assert "has to be kept colder or hotter than these lunches are. Change how they are kept" in right


def test_changes_are_looked_for_once_they_are_asked_for(parent: Browser, offer: str) -> None:
    page = parent.get(f"/set-out/{offer}")
    assert [one for one in page.forms if one.action.endswith("/apply")] == []
    assert (f"/set-out/{offer}?helps=yes", "Find what would help") in page.links
    looked = parent.get(f"/set-out/{offer}?helps=yes")
    assert "Find what would help" not in looked.text


def test_one_button_makes_a_change_and_the_count_it_promised_comes_true(parent: Browser, offer: str) -> None:
    page = parent.get(f"/set-out/{offer}?helps=yes")
    forms = [one for one in page.forms if one.action.endswith("/apply")]
    assert forms
    for place in range(len(forms)):
        form = [one for one in parent.get(f"/set-out/{offer}?helps=yes").forms if one.action.endswith("/apply")]
        if place >= len(form):
            break
        sentence = form[place].data()["called"][0]
        before = parent.get(f"/set-out/{offer}?helps=yes").text
        promised = before[before.index(sentence) :].split("Then ")[1].split(" are ready")[0]
        parent.last = parent.client.post(form[place].action, data=form[place].data(), headers=OURS)
        assert parent.last.status_code == 200
        assert f"{promised} ready" in Page(parent.last.text).text, sentence


def test_a_change_that_is_not_one_of_the_page_is_refused(parent: Browser, offer: str) -> None:
    form = next(one for one in parent.get(f"/set-out/{offer}?helps=yes").forms if one.action.endswith("/apply"))
    for sent in ("", "no json", '[{"kind": "explode", "group": "main"}]', "[1]", '[{"kind": "take", "group": "main"}]'):
        refused = parent.client.post(form.action, data=form.data(changes=sent), headers=OURS)
        assert refused.status_code == 422, sent
        assert "Do it all the same" not in refused.text


def test_what_is_taken_out_and_why_and_the_packets_that_lead_out_of_it(
    kitchen: Kitchen, parent: Browser, offer: str
) -> None:
    avoid(kitchen, "Linden", "wheat")
    page = parent.get(f"/set-out/{offer}")
    assert "Not for Linden: ham sandwich" in page.text
    led = [address for address, _words in page.links if address.startswith("/packets/new?food=")]
    assert led
    assert "read the label each time you buy" in page.text


def test_what_waits_for_packets_says_how_many_are_ready_once_they_are_read(
    kitchen: Kitchen, parent: Browser, offer: str, on: date
) -> None:
    """A change that brings lunches only once packets are read says so: "then 0 of 18 are ready" promised nothing."""
    avoid(kitchen, "Linden", "nuts")
    groups = [
        {"id": "mains", "items": [{"food": "egg-muffin-vegetable"}, {"food": "rice-chicken-sweetcorn"}]},
        {"id": "fruit", "items": [{"food": "apple"}, {"food": "banana"}]},
        {"id": "vegetables", "items": [{"food": "carrots-raw", "quantity": 100, "unit": "g"}]},
        {"id": "extras", "items": [{"food": "cheese-string"}], "take": {"at_least": 0, "at_most": 1}},
        {"id": "drinks", "items": [{"food": "milk-1-percent"}]},
    ]
    offer = kitchen.keep("offers", {"name": "to be read", "groups": groups})
    with kitchen.store.reading() as connection:
        audit = audit_for_family(connection, kitchen.id, offer, on)
    child = next(one for one in audit["children"] if one["nickname"] == "Linden")
    assert child["right_once_read"] > child["right"]
    assert child["check_label"]
    text = parent.get(f"/set-out/{offer}?helps=yes").text
    said = f"If reading them rules nothing out, {child['right_once_read']} of {child['total']}"
    assert said in text
    more = [one for one in child["changes"] if one["right_once_read_after"] > one["right_after"]]
    assert more
    for one in more:
        read = f"It could be {one['right_once_read_after']}, if reading the other packets rules nothing out."
        assert f"{one['sentence']} Then {one['right_after']} of {one['total_after']} are ready. {read}" in text


def test_each_reason_for_taking_a_food_out_stands_on_its_own(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    avoid(kitchen, "Linden", "wheat", "milk")
    parent.get(f"/set-out/{offer}")
    reasons = re.search("bean and cheese wrap</bdi></strong>: <ul><li>(.*?)</li><li>(.*?)</li></ul>", parent.last.text)
    assert reasons is not None
    assert {one.split(" (")[0] for one in reasons.groups()} == {"contains wheat", "contains milk"}


def test_a_group_without_anything_left_is_said(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    avoid(kitchen, "Linden", "milk")
    text = parent.get(f"/set-out/{offer}").text
    assert "Nothing is left in drink that Linden can take: add a food to it." in text
    assert "no lunch possible" in text


def test_a_rule_that_cannot_be_kept_is_said(parent: Browser, offer: str) -> None:
    page = parent.get(f"/set-out/{offer}")
    form = next(one for one in page.forms if one.action.endswith("/rule"))
    sent = form.data(**{"with": "fruit~apple", "then_group": "drink", "at_least": "2", "at_most": "2"})
    after = Page(parent.client.post(form.action, data=sent, headers=OURS).text)
    assert "cannot be kept" in after.text


def test_a_child_of_whom_nothing_can_be_told_is_said_with_what_to_do_and_the_others_are_counted(
    kitchen: Kitchen, parent: Browser, offer: str
) -> None:
    rowan = kitchen.children["Rowan"]
    with kitchen.store.writing() as connection:
        parts = b'{"standard": "jp-school-lunch", "birth_month": "2024-01", "age_group": null}'
        edit_record(connection, CHILDREN, kitchen.id, rowan, lambda _v: None, parts, None)
    page = parent.get(f"/set-out/{offer}")
    assert "Rowan ? cannot tell" in page.text
    assert (f"/children/{rowan}", "Change what is stored about Rowan") in page.links
    assert "Linden ? 12 of 18 ready" in page.text


def test_a_household_without_children_is_led_to_them(new_kitchen: Kitchen) -> None:
    parent = new_kitchen.browser()
    body = {"name": "a", "groups": [{"id": "fruit", "items": [{"food": "apple"}]}]}
    offer = new_kitchen.keep("offers", body)
    page = parent.get(f"/set-out/{offer}")
    assert ("/start", "Add your children") in page.links
    parent.get("/set-out/fridge")
    parent.get(f"/set-out/{offer}/cards")


def test_figures_stand_behind_one_tap_with_their_source(parent: Browser, offer: str) -> None:
    page = parent.get(f"/set-out/{offer}")
    assert page.html.index("<details") < page.html.index("Meal requirements for lunches")
    before = page.html[: page.html.index("Meal requirements for lunches")]
    assert before.count("<details") > before.count("</details>")


def test_cards_and_the_sheet_for_the_fridge_say_what_is_not_for_whom(
    kitchen: Kitchen, parent: Browser, offer: str, on: date
) -> None:
    avoid(kitchen, "Linden", "wheat")
    cards = parent.get(f"/set-out/{offer}/cards?day={on}").text
    assert "Juniper" in cards
    assert "apple (in thin slices)" in cards
    linden = cards[cards.index("Linden") :]
    assert "ham sandwich" not in linden
    sheet = parent.get(f"/set-out/fridge?week={on}").text
    if on.weekday() < 5:
        assert "ham sandwich" in sheet
        assert "not: ham sandwich" in sheet or "read first: ham sandwich" in sheet
    assert "safe" not in sheet + cards


def test_a_week_in_which_nothing_is_set_out_says_what_to_do(kitchen: Kitchen, parent: Browser) -> None:
    page = parent.get("/set-out/fridge?week=2031-01-06")
    assert "Nothing is set out in this week yet." in page.text
    assert ("/set-out", "Choose what is set out") in page.links


def test_two_offers_side_by_side_say_how_many_are_ready_in_each_and_what_differs(
    kitchen: Kitchen, parent: Browser, offer: str
) -> None:
    page = parent.get("/set-out")
    trip = next(address for address, words in page.links if words == "for a trip").rsplit("/", 1)[-1]
    text = parent.get(f"/set-out/compare?one={trip}&other={offer}").text
    assert "Rowan ? 0 of 4 ready Not enough vegetables, in 4 lunches. ? 12 of 18 ready" in text
    assert "Only in for a trip" in text
    assert "rice and bean pot" in text


def test_a_product_that_is_over_its_limit_is_said_with_its_lunches(
    kitchen: Kitchen, parent: Browser, offer: str
) -> None:
    """Source: 7 CFR 210.10 (c)(2)(iv)(B): yogurt with at most 12 g of added sugars in 6 oz."""
    groups = [
        {"id": "mains", "items": [{"food": "sandwich-turkey-cheese"}]},
        {"id": "extras", "items": [{"food": "yogurt-fruit-low-fat"}, {"food": "apple"}]},
    ]
    sweet = kitchen.keep("offers", {"name": "sweet", "groups": groups})
    for address in (f"/set-out/{sweet}", f"/set-out/compare?one={sweet}&other={offer}"):
        text = parent.get(address).text
        assert re.search(
            r"In 1 lunch: fruit yogurt, low fat: \d\S* g of added sugars in \S+ g, more than .* 12 g", text
        )


def test_the_fridge_has_no_box_to_tick_for_a_child_without_a_lunch(
    kitchen: Kitchen, parent: Browser, offer: str, on: date
) -> None:
    for day in weeks_of(on, 1)[0]:
        kitchen.forget_lunches(day)
    avoid(kitchen, "Linden", "milk")
    sheet = parent.get("/set-out/fridge").html
    cells = re.findall(r'<td role="cell" data-name="(\w+)">(.*?)</td>', sheet)
    assert {said for name, said in cells if name == "Linden" and said} - {"buys at school"} == {"no lunch possible"}
    assert any('class="box"' in said for name, said in cells if name == "Rowan")


def test_the_fridge_says_what_is_logged(kitchen: Kitchen, parent: Browser, offer: str, on: date) -> None:
    """A box to tick, "packed", stood there for a child that was logged as without a lunch; and so for one that bought after all."""
    (day, *_) = weeks_of(on, 1)[0]
    kitchen.set_out("usual mornings", day)
    kitchen.forget_lunches(day)
    packed = {"kind": "packed", "items": [{"food": "apple", "quantity": 1, "unit": "apple"}]}
    for name, said in (("Juniper", {"kind": "none"}), ("Rowan", {"kind": "bought"}), ("Linden", packed)):
        kitchen.keep("lunches", {"child": kitchen.children[name], "date": day.isoformat(), **said})
    row = parent.get(f"/set-out/fridge?week={day}").html.split('<tr role="row"><th scope="row"')[1]
    cells = dict(re.findall(r'<td role="cell" data-name="(\w+)">(.*?)</td>', row))
    assert cells == {
        "Juniper": "no lunch",
        "Rowan": "bought at school",
        "Linden": '<span class="box box-ticked">packed</span>',
    }


def test_the_fridge_goes_by_each_day_of_the_week(kitchen: Kitchen, parent: Browser, on: date) -> None:
    """A packet that comes due in the middle of a week is to be read first from then on, though it holds on Monday."""
    from service.jobs.household.offers.fridge import fridge_week

    avoid(kitchen, "Linden", "tree nuts")
    groups = [{"id": "mains", "items": [{"food": "apple"}, {"food": "yogurt-fruit-low-fat"}]}]
    kitchen.keep("offers", {"name": "snacks", "groups": groups})
    (week,) = weeks_of(on + timedelta(days=7), 1)
    ticks = [{"allergen": "tree nuts", "level": "not_named"}]
    read = {"food": "yogurt-fruit-low-fat", "read_on": on.isoformat(), "allergens": ticks}
    kitchen.keep("packets", {**read, "holds_for_days": (week[2] - on).days})
    for day in week:
        kitchen.set_out("snacks", day)
    with kitchen.store.reading() as connection:
        found = fridge_week(connection, kitchen.id, week[0])
    rows = [next(row for row in day["for_child"] if row["nickname"] == "Linden") for day in found["days"]]
    due = ["fruit yogurt, low fat" in row["read_first"] for row in rows]
    assert due == [False, False, False, True, True]
    assert "read first: fruit yogurt, low fat" in parent.get(f"/set-out/fridge?week={week[0]}").text
