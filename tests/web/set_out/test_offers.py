"""What is set out: an offer is changed by small forms, its days are ticked, an old one is used again, and nobody loses what was typed."""

from datetime import date, timedelta
from typing import Any

import pytest

from service.jobs.household.days.school_days import school_day_of
from service.jobs.household.kinds import OFFERS
from service.jobs.household.offers.set_out import weeks_of
from service.jobs.household.records import show_record
from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.reading import Page, ReadForm


@pytest.fixture
def offer(kitchen: Kitchen, on: date) -> str:
    """The id of the invented family's usual mornings, set out today."""
    return kitchen.set_out("usual mornings", on)


@pytest.fixture
def parent(kitchen: Kitchen) -> Browser:
    """A device that may do everything."""
    return kitchen.browser()


def stored(kitchen: Kitchen, offer: str) -> dict[str, Any]:
    """The offer as it is stored."""
    with kitchen.store.reading() as connection:
        return show_record(connection, OFFERS, kitchen.id, offer).body


def group(kitchen: Kitchen, offer: str, name: str) -> dict[str, Any]:
    """A group as it is stored."""
    found: dict[str, Any] = next(one for one in stored(kitchen, offer)["groups"] if one["id"] == name)
    return found


def form_with(page: Page, action: str, **fields: str) -> ReadForm:
    """The form that goes to an action with these hidden fields."""
    return next(
        one
        for one in page.forms
        if one.action.endswith(f"/{action}") and all((name, value) in one.fields for name, value in fields.items())
    )


def send(browser: Browser, form: ReadForm, status: int = 200, **typed: Any) -> Page:
    """Send a form that was found on a page."""
    data = form.data(**typed)
    sent = browser.client.get(form.action, params=data) if form.method == "get" else None
    browser.last = sent or browser.client.post(form.action, data=data, headers=OURS)
    assert browser.last.status_code == status, browser.last.text[-2000:]
    return Page(browser.last.text)


def test_the_offers_say_how_many_they_are_and_when_each_is_set_out(parent: Browser, offer: str, on: date) -> None:
    page = parent.get("/set-out")
    assert "2 offers" in page.text
    assert "main, fruit, vegetable and drink; 9 foods" in page.text
    assert "Not set out on any coming day" in page.text
    assert (f"/set-out/{offer}", "usual mornings") in page.links


def test_an_old_offer_is_used_again_under_a_new_name(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    page = parent.get("/set-out")
    copied = send(parent, form_with(page, "new", old=offer), name="cold days")
    assert "cold days" in copied.text
    copy = parent.address.rsplit("/", 1)[-1]
    assert copy != offer
    assert stored(kitchen, copy)["groups"] == stored(kitchen, offer)["groups"]
    again = send(parent, form_with(parent.get("/set-out"), "new", old=offer), 422, name="cold days")
    assert form_with(again, "new", old=offer).data()["name"] == ["cold days"]


def test_a_food_is_found_and_added_and_goes_again(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    page = parent.get(f"/set-out/{offer}?into=fruit&q=banana")
    send(parent, form_with(page, "add", food="banana"))
    assert [one["food"] for one in group(kitchen, offer, "fruit")["items"]][-1] == "banana"
    page = parent.get(f"/set-out/{offer}?into=fruit&q=banana")
    assert not [one for one in page.forms if ("food", "banana") in one.fields]
    send(parent, form_with(page, "remove", group="fruit", item="banana"))
    assert "banana" not in [one["food"] for one in group(kitchen, offer, "fruit")["items"]]


def test_a_dish_of_the_household_is_found_and_added_in_its_portion(
    kitchen: Kitchen, parent: Browser, offer: str
) -> None:
    page = parent.get(f"/set-out/{offer}?into=fruit&q=rice+and+bean")
    form = next(one for one in page.forms if one.action.endswith("/add"))
    send(parent, form)
    added = group(kitchen, offer, "fruit")["items"][-1]
    assert added["key"] == "rice and bean pot"
    assert added["food"] == group(kitchen, offer, "main")["items"][-1]["food"]


def test_nothing_typed_into_the_search_brings_foods_of_the_same_kind(parent: Browser, offer: str) -> None:
    page = parent.get(f"/set-out/{offer}?into=vegetable")
    named = [dict(one.fields)["called"] for one in page.forms if one.action.endswith("/add")]
    assert "cherry tomatoes" in named
    assert "banana" not in named


def test_how_much_is_changed_and_a_word_for_a_number_is_kept_and_explained(
    kitchen: Kitchen, parent: Browser, offer: str
) -> None:
    page = parent.get(f"/set-out/{offer}")
    wrong = send(parent, form_with(page, "amount", group="fruit", item="apple"), 422, quantity="lots")
    assert "is not a plain number" in wrong.text
    assert form_with(wrong, "amount", group="fruit", item="apple").data()["quantity"] == ["lots"]
    assert group(kitchen, offer, "fruit")["items"][0]["quantity"] == 1.0
    send(parent, form_with(wrong, "amount", group="fruit", item="apple"), quantity="1,5", unit="small apple")
    changed = group(kitchen, offer, "fruit")["items"][0]
    assert (changed["quantity"], changed["unit"]) == (1.5, "small apple")
    assert "1½ small apples" in parent.get(f"/set-out/{offer}").text


def test_how_many_are_taken_is_changed(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    page = parent.get(f"/set-out/{offer}")
    changed = send(parent, form_with(page, "take", group="fruit"), at_least="1", at_most="2", again="yes")
    assert group(kitchen, offer, "fruit")["take"] == {"at_least": 1, "at_most": 2, "repeats": True}
    assert "take 1 to 2, the same again if wanted" in changed.text
    wrong = send(parent, form_with(changed, "take", group="fruit"), 422, at_least="3", at_most="2")
    assert form_with(wrong, "take", group="fruit").data()["at_least"] == ["3"]


def test_a_group_is_added_renamed_with_its_rules_and_removed(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    page = parent.get(f"/set-out/{offer}?new=dips")
    assert "New group: dips" in page.text
    page = parent.get(f"/set-out/{offer}?new=dips&q=hummus")
    page = send(parent, form_with(page, "add", food="hummus", group="dips"))
    page = send(
        parent,
        form_with(page, "rule"),
        **{"with": "dips~hummus", "then_group": "vegetable", "at_least": "2", "at_most": "2"},
    )
    assert "With hummus, shop bought, take 2 from vegetable." in page.text
    page = send(parent, form_with(page, "stand-in"), groups=["dips", "drink"])
    page = send(parent, form_with(page, "rename-group", group="dips"), name="to dip")
    body = stored(kitchen, offer)
    assert (body["rules"][0]["group"], body["alternatives"]) == ("to dip", [["to dip", "drink"]])
    send(parent, form_with(page, "remove-group", group="to dip"))
    body = stored(kitchen, offer)
    assert (body["rules"], body["alternatives"]) == ([], [])
    assert [one["id"] for one in body["groups"]] == ["main", "fruit", "vegetable", "drink"]


def test_a_rule_and_a_standing_in_are_taken_back(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    page = parent.get(f"/set-out/{offer}")
    page = send(
        parent, form_with(page, "rule"), **{"with": "fruit~apple", "then_group": "drink"}, at_least="1", at_most="1"
    )
    page = send(parent, form_with(page, "stand-in"), groups=["fruit", "vegetable"])
    assert "Take from only one of these groups: fruit and vegetable." in page.text
    page = send(parent, form_with(page, "remove-rule", group="fruit", item="apple"))
    send(parent, form_with(page, "stand-alone"))
    assert (stored(kitchen, offer)["rules"], stored(kitchen, offer)["alternatives"]) == ([], [])


def test_days_are_ticked_and_what_the_school_cooks_stays(
    kitchen: Kitchen, parent: Browser, offer: str, on: date
) -> None:
    rowan = kitchen.children["Rowan"]
    monday, tuesday = weeks_of(on)[1][:2]
    with kitchen.store.writing() as connection:
        there = school_day_of(connection, kitchen.id, monday)
        assert there is not None
    page = parent.get(f"/set-out/{offer}")
    form = form_with(page, "days")
    assert monday.isoformat() in form.data()["day"]
    send(parent, form, day=[tuesday.isoformat()], was=[monday.isoformat(), tuesday.isoformat()])
    with kitchen.store.reading() as connection:
        after = school_day_of(connection, kitchen.id, monday)
        same = school_day_of(connection, kitchen.id, tuesday)
    assert after is None or after.body["offer"] is None
    assert same is not None
    assert same.body["offer"] == offer
    kept = monday + timedelta(2)
    with kitchen.store.writing() as connection:
        from service.jobs.household.kinds import SCHOOL_DAYS
        from service.jobs.household.records import edit_record

        there = school_day_of(connection, kitchen.id, kept)
        assert there is not None
        edit_record(
            connection,
            SCHOOL_DAYS,
            kitchen.id,
            str(there.id),
            lambda _v: None,
            f'{{"buys": ["{rowan}"]}}'.encode(),
            None,
        )
    send(parent, form_with(parent.get(f"/set-out/{offer}"), "days"), day=[], was=[kept.isoformat()])
    with kitchen.store.reading() as connection:
        left = school_day_of(connection, kitchen.id, kept)
    assert left is not None
    assert (left.body["offer"], left.body["buys"]) == (None, [rowan])


def test_a_change_made_meanwhile_shows_both_and_can_still_be_made(
    kitchen: Kitchen, parent: Browser, offer: str
) -> None:
    other = kitchen.browser()
    mine, theirs = parent.get(f"/set-out/{offer}?into=fruit&q=banana"), other.get(f"/set-out/{offer}")
    send(other, form_with(theirs, "remove", group="fruit", item="pear"))
    both = send(parent, form_with(mine, "add", food="banana"), 409)
    assert "This was changed on another device meanwhile" in both.text
    assert "Yours Add banana to fruit. There now Below is the offer as it is now." in both.text
    assert ("/set-out/" + offer, "Keep what is there now") in both.links
    assert "banana" not in [one["food"] for one in group(kitchen, offer, "fruit")["items"]]
    done = send(parent, form_with(both, "add", food="banana"))
    assert "This was changed on another device meanwhile" not in done.text
    foods = [one["food"] for one in group(kitchen, offer, "fruit")["items"]]
    assert "banana" in foods
    assert "pear" not in foods


def test_an_offer_is_renamed_and_one_that_lunches_name_stays(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    page = parent.get(f"/set-out/{offer}")
    page = send(parent, form_with(page, "rename"), name="every morning")
    assert stored(kitchen, offer)["name"] == "every morning"
    stays = send(parent, form_with(page, "discard"), 409)
    assert "is named by" in stays.text
    copy = send(parent, form_with(parent.get("/set-out"), "new", old=offer), name="not needed")
    gone = send(parent, form_with(copy, "discard"))
    assert "not needed" not in gone.text


def test_how_lunches_are_kept_is_asked_once_and_used_everywhere(
    kitchen: Kitchen, parent: Browser, offer: str, on: date
) -> None:
    before = parent.get(f"/set-out/{offer}")
    assert "Say how lunches are kept" in before.text
    assert "it is not known whether food that spoils stays cold enough" in before.text
    wrong = send(parent, form_with(before, "kept"), 422, insulated="yes", packs="two", hours="4")
    assert form_with(wrong, "kept").data()["packs"] == ["two"]
    for typed in ("-1", "1.5", "two", "1/2"):
        wrong = send(parent, form_with(before, "kept"), 422, insulated="yes", packs=typed, hours="4")
        assert f"“{typed}” is not a whole number of cold packs. Type a whole number, 0 for none." in wrong.text
    after = send(parent, form_with(before, "kept"), insulated="yes", packs="2", hours="4.5")
    assert parent.address == f"/set-out/{offer}"
    assert "In an insulated bag, with 2 cold packs, eaten after 4.5 hours." in after.text
    assert "What would help is looked for once" not in after.text
    settings = parent.client.get("/v1/household").json()
    assert settings["holding"]["minutes_until_eaten"] == 270
    export = parent.client.get("/v1/export").json()
    assert export["household"]["body"]["holding"]["cold_sources"] == 2
    rowan = kitchen.children["Rowan"]
    child = kitchen.browser("take", rowan)
    taken = "&".join(
        f"take={one}" for one in ("main~rice and bean pot", "fruit~apple", "vegetable~cucumber", "drink~milk-1-percent")
    )
    tiles = child.get(f"/take/{rowan}?{taken}")
    finish = next(one for one in tiles.forms if one.method == "post")
    assert child.client.post(finish.action, data=finish.data(), headers=OURS).status_code == 200
    lunch = kitchen.lunch(rowan, on)
    assert lunch is not None
    assert lunch["holding"]["insulated"] is True


def test_a_device_that_packs_sees_and_changes_nothing(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    packer = kitchen.browser("pack")
    page = packer.get(f"/set-out/{offer}")
    assert "usual mornings" in page.text
    assert "How the lunches come out" in page.text
    assert [one.action for one in page.forms if one.method == "post" and "/set-out" in one.action and one.buttons] == []
    packer.get("/set-out")
    packer.get(f"/set-out/{offer}/cards")
    for form in (one for one in parent.get(f"/set-out/{offer}?into=fruit").forms if "/set-out/" in one.action):
        refused = packer.client.post(form.action, data=form.data(), headers=OURS)
        # Of the forms that only ask for a page, one asks for a page that is for parents alone.
        asks = form.method != "post" and not form.action.endswith("/right")
        assert refused.status_code == (405 if asks else 403), form.action
    packer.get("/start", 403)
    packer.get("/start/foods", 403)


def test_a_childs_device_is_refused_everything(kitchen: Kitchen, offer: str) -> None:
    child = kitchen.browser("take", kitchen.children["Rowan"])
    for address in ("/set-out", f"/set-out/{offer}", f"/set-out/{offer}/cards", "/set-out/fridge", "/start"):
        assert child.client.get(address).status_code == 403, address
    assert child.client.post(f"/set-out/{offer}/remove", headers=OURS).status_code == 403


def test_a_form_without_its_token_or_from_elsewhere_changes_nothing(
    kitchen: Kitchen, parent: Browser, offer: str
) -> None:
    before = stored(kitchen, offer)
    form = form_with(parent.get(f"/set-out/{offer}"), "remove", group="fruit", item="apple")
    data = {name: value for name, value in form.data().items() if name != "token"}
    assert parent.client.post(form.action, data=data, headers=OURS).status_code == 403
    elsewhere = parent.client.post(form.action, data=form.data(), headers={"Sec-Fetch-Site": "cross-site"})
    assert elsewhere.status_code == 403
    assert stored(kitchen, offer) == before


def test_an_offer_of_another_household_is_not_there(kitchen: Kitchen, new_kitchen: Kitchen, offer: str) -> None:
    stranger = new_kitchen.browser()
    for address in (f"/set-out/{offer}", f"/set-out/{offer}/cards", f"/set-out/compare?one={offer}&other={offer}"):
        stranger.get(address, 404)


def test_names_are_shown_as_text(parent: Browser, offer: str) -> None:
    name = "<script>alert(1)</script>"
    page = send(parent, form_with(parent.get(f"/set-out/{offer}"), "rename-group", group="fruit"), name=name)
    assert name in page.text
    assert name not in page.html
    page = send(parent, form_with(page, "rename"), name=name)
    for address in ("/set-out", f"/set-out/{offer}", f"/set-out/{offer}/cards", "/set-out/fridge"):
        assert name not in parent.get(address).html


def test_a_name_that_another_offer_has_is_said_in_plain_words(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    """For a copy, and for another name of an offer; what was typed stays, and no id is shown to a person."""
    said = "There is an offer called for a trip already. Give this one another name."
    again = send(parent, form_with(parent.get("/set-out"), "new", old=offer), 422, name="for a trip")
    renamed = send(parent, form_with(parent.get(f"/set-out/{offer}"), "rename"), 422, name="for a trip")
    for page in (again, renamed):
        assert said in page.text
        assert ", id " not in page.text


def test_two_offers_side_by_side_say_why_lunches_are_not_ready(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    """How lunches are kept is not said, so nothing is ready: that is told; and that one offer twice is no comparison."""
    trip = next(
        dict(one.fields)["old"]
        for one in parent.get("/set-out").forms
        if one.action == "/set-out/new" and dict(one.fields)["old"] != offer
    )
    text = parent.get(f"/set-out/compare?one={offer}&other={trip}").text
    assert "something is not known, such as how they are kept" in text
    assert "This is one offer twice." not in text
    assert (
        "This is one offer twice. Go back and choose two."
        in parent.get(f"/set-out/compare?one={offer}&other={offer}").text
    )


def test_a_child_is_given_an_amount_of_its_own_and_it_is_taken_back(
    kitchen: Kitchen, parent: Browser, offer: str
) -> None:
    rowan = kitchen.children["Rowan"]
    page = parent.get(f"/set-out/{offer}")
    wrong = send(parent, form_with(page, "amount", group="fruit", item="apple"), 422, **{f"own~{rowan}": "lots"})
    assert form_with(wrong, "amount", group="fruit", item="apple").data()[f"own~{rowan}"] == ["lots"]
    given = send(parent, form_with(page, "amount", group="fruit", item="apple"), **{f"own~{rowan}": "1/2"})
    assert group(kitchen, offer, "fruit")["items"][0]["portions"] == [{"child": rowan, "quantity": 0.5}]
    assert "Rowan: half an apple" in given.text
    fridge = parent.get("/set-out/fridge")
    assert "apple: half an apple" in fridge.text
    cards = parent.get(f"/set-out/{offer}/cards")
    assert "apple: 0.5 apple" in cards.text
    back = send(parent, form_with(given, "amount", group="fruit", item="apple"), **{f"own~{rowan}": ""})
    assert group(kitchen, offer, "fruit")["items"][0]["portions"] == []
    assert "half an apple" not in back.text


def test_every_fault_of_a_small_form_stands_at_it_and_what_was_typed_stays(kitchen: Kitchen) -> None:
    groups = [
        {"id": "main", "items": [{"food": "sandwich-cheese"}]},
        {"id": "drink", "items": [{"food": "milk-1-percent"}]},
    ]
    offer = "/set-out/" + kitchen.keep("offers", {"name": "for a walk", "groups": groups})
    browser = kitchen.browser()
    page = browser.get(offer)
    own = next(name for name in page.form(f"{offer}/amount").data() if name.startswith("own~"))
    wrong = browser.send(page, f"{offer}/amount", status=422, quantity="two", unit="g", **{own: "much"})
    assert [words.partition(" ")[0] for address, words in wrong.links if address == "#asked"] == ["“two”", "“much”"]
    at_it = wrong.html.partition(f'action="{offer}/amount"')[2].partition("</form>")[0]
    assert 'id="asked"' in at_it
    assert {("quantity", "two"), ("unit", "g"), (own, "much")} <= set(wrong.form(f"{offer}/amount").fields)
    wrong = browser.send(page, f"{offer}/take", status=422, at_least="some", at_most="all", again="yes")
    assert len([words for address, words in wrong.links if address == "#asked"]) == 2
    assert {("at_least", "some"), ("at_most", "all"), ("again", "yes")} <= set(wrong.form(f"{offer}/take").fields)
