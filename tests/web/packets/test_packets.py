"""Packets over the pages: what is typed is shown as it was read before it is kept, and a packet read ends its prompts."""

import io
from datetime import date, timedelta
from typing import Any

import pytest
from PIL import Image
from pydantic_core import to_json

from service.jobs.household.packets.packet_reading import read_packet
from service.jobs.household.requests import KeptPacket
from service.jobs.household.settings import edit_settings
from tests.web.kitchens import OURS, Browser, Kitchen, empty_kitchen
from tests.web.reading import Page

OATS = "Oats, honey, butter, almonds. May contain sesame."
CHILD = {"nickname": "Alder", "standard": "us-school-lunch", "birth_month": "2018-05"}
"""A child that may eat everything."""


@pytest.fixture
def parent(kitchen: Kitchen) -> Browser:
    """A device of the invented family that may do everything."""
    return kitchen.browser()


def shown(browser: Browser, food: str, **typed: Any) -> Page:
    """The page after a packet was typed and its reading asked for."""
    form = browser.get(f"/packets/new?food={food}")
    return browser.send(form, "/packets/new", "Show what it means", **typed)


def kept(browser: Browser, food: str, **typed: Any) -> str:
    """The address of a packet that was typed, looked at and kept."""
    browser.send(shown(browser, food, **typed), "/packets/new", "Save")
    assert browser.address.startswith("/packets/")
    return browser.address


def stored(browser: Browser, address: str) -> dict[str, Any]:
    """The packet as the API shows it."""
    found: dict[str, Any] = browser.client.get(f"/v1{address}").json()
    return found


def photo(**said: Any) -> bytes:
    """An invented photograph."""
    file = io.BytesIO()
    Image.new("RGB", (30, 20), "teal").save(file, "JPEG", **said)
    return file.getvalue()


def send_photo(browser: Browser, page: Page, action: str, image: bytes, **typed: Any) -> Any:
    """Send a form with a file, as a browser would; what comes back."""
    form = next(one for one in page.forms if one.action.partition("#")[0] == action)
    files = {"photo": ("packet.jpg", image, "image/jpeg")}
    return browser.client.post(form.action, data=form.data(**typed), files=files, headers=OURS)


# What is shown before it is kept


def test_the_reading_is_shown_before_anything_is_kept(kitchen: Kitchen, parent: Browser, on: date) -> None:
    before = parent.client.get("/v1/packets").json()["items"]
    page = shown(parent, "granola-bar-hard", ingredients=OATS)
    assert "butter (contains milk)" in page.text
    assert "sesame (may contain sesame)" in page.text
    assert "It names: milk" in page.text
    assert page.form("/packets/new").data()["ingredients"] == [OATS]
    assert parent.client.get("/v1/packets").json()["items"] == before
    parent.send(page, "/packets/new", "Save")
    packet = stored(parent, parent.address)
    assert (packet["food"], packet["ingredients"], packet["read_on"]) == ("granola-bar-hard", OATS, on.isoformat())
    assert packet["holds_for_days"] == 90
    assert packet["may_contain"] is None


def test_it_says_for_which_child_it_is_not(new_kitchen: Kitchen) -> None:
    for name, avoids in (("Kit", "milk"), ("Robin", "peanut"), ("Sam", "sesame")):
        threshold = "contains" if name == "Sam" else "may_contain"
        new_kitchen.keep(
            "children", {**CHILD, "nickname": name, "avoids": [{"allergen": avoids, "threshold": threshold}]}
        )
    page = shown(new_kitchen.browser(), "granola-bar-hard", ingredients=OATS, no_warning="yes")
    assert "not for Kit Contains milk." in page.text
    assert "nothing named Does not name peanut." in page.text
    assert "May contain sesame. As this child's page says, a warning alone does not rule it out." in page.text


def test_a_food_that_no_law_lists_is_marked_where_a_child_must_not_have_it(new_kitchen: Kitchen) -> None:
    new_kitchen.keep("children", {**CHILD, "nickname": "Kit", "avoids": [{"allergen": "strawberries"}]})
    typed = {"ingredients": "Oats, strawberries, milk, tomato. Starch, salt"}
    page = shown(new_kitchen.browser(), "granola-bar-hard", **typed)
    assert "strawberries (contains strawberry)" in page.text
    assert "milk (contains milk)" in page.text
    assert "contains tomato" not in page.text
    assert "potato" not in page.text


def test_a_text_that_cannot_be_read_says_how_much_and_what_to_do(parent: Browser) -> None:
    page = shown(parent, "granola-bar-hard", ingredients="Кукуруза, соль, кунжут, мука")
    assert "This statement could not be read: 4 of 4 words unknown" in page.text
    assert "tick what it says" in page.text
    assert "nothing named" not in page.text


def test_what_is_no_allergen_by_nature_is_not_said_to_stand_on_the_packet(parent: Browser) -> None:
    page = shown(parent, "apple", ingredients="Кукуруза, соль, кунжут, мука")
    assert "Not in this food by itself: peanut." in page.text
    assert "Does not name" not in page.text


def test_ticks_correct_the_reading(kitchen: Kitchen, parent: Browser) -> None:
    page = shown(parent, "granola-bar-hard", ingredients="Кукуруза, соль", **{"tick-milk": "contains"})
    page = parent.send(page, "/packets/new", "Show again", **{"tick-milk": "may_contain", "tick-egg": "not_named"})
    parent.send(page, "/packets/new", "Save")
    ticks = stored(parent, parent.address)["allergens"]
    assert sorted((one["allergen"], one["level"]) for one in ticks) == [("egg", "not_named"), ("milk", "may_contain")]
    assert "milk: may contain" in parent.get(parent.address).text


def test_what_was_changed_after_it_was_shown_is_shown_again(parent: Browser) -> None:
    page = shown(parent, "granola-bar-hard", ingredients="Oats, honey")
    again = parent.send(page, "/packets/new", "Save", ingredients="Oats, honey, milk powder")
    assert "Something was changed after this was shown" in again.text
    assert "milk powder (contains milk)" in again.text
    assert parent.client.get("/v1/packets?limit=200").json()["items"][-1]["food"] != "granola-bar-hard"
    parent.send(again, "/packets/new", "Save")
    assert stored(parent, parent.address)["ingredients"] == "Oats, honey, milk powder"


def test_all_that_can_be_typed_is_kept_and_comes_back_for_editing(parent: Browser, on: date) -> None:
    read = (on - timedelta(3)).isoformat()
    typed = {
        "ingredients": "Oats,\r\nhoney",
        "contains": "Contains: oats",
        "no_warning": "yes",
        "claims": ["lactose_free"],
        "read_on": read,
        "holds": "0",
        "gtin": "4006381 333931",
        "facts_per": "serving",
        "serving": "30",
        "serving_unit": "g",
        "serving_name": "bar",
        "rounding": "exact",
        "figure-energy_kcal": "120,5",
    }
    address = kept(parent, "granola-bar-hard", **typed)
    packet = stored(parent, address)
    assert packet["ingredients"] == "Oats,\nhoney"
    assert (packet["may_contain"], packet["claims"], packet["holds_for_days"]) == ("", ["lactose_free"], 0)
    assert packet["gtin"] == "4006381333931"
    assert packet["serving"] == {"name": "bar", "grams": 30.0, "ml": None}
    assert (packet["facts"]["energy_kcal"], packet["facts"]["fat_g"], packet["facts_rounded"]) == (120.5, None, False)
    edit = parent.get(f"{address}/edit")
    shown_again = parent.send(edit, f"{address}/edit", "Show what it means")
    parent.send(shown_again, f"{address}/edit", "Save")
    assert stored(parent, address) == packet


# Faults


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({}, "Type or paste what the packet says"),
        ({"ingredients": "Oats", "gtin": "4006381333930"}, "A digit is missing or mistyped"),
        ({"ingredients": "Oats", "read_on": "yesterday"}, "Give the day on which you read it."),
        ({"ingredients": "Oats", "read_on": "2999-01-01"}, "That day has not come yet."),
        ({"ingredients": "Oats", "holds": "x"}, "Choose how long to use it."),
        ({"ingredients": "Oats", "may_contain": "May contain milk", "no_warning": "yes"}, "Leave one of them out."),
        ({"ingredients": "Oats", "figure-salt_g": "much"}, "much cannot be read as a number."),
        ({"ingredients": "Oats", "figure-fat_g": "much"}, "much cannot be read as a number."),
        ({"ingredients": "Oats", "figure-fat_g": "1", "facts_per": "serving"}, "Say how large the serving is"),
        ({"ingredients": "Oats", "tick-dragon": "contains"}, "dragon"),
        ({"ingredients": "O" * 20_001}, "20000"),
    ],
    ids=["nothing", "gtin", "day", "to come", "days", "two warnings", "salt", "number", "serving", "allergen", "long"],
)
def test_what_is_wrong_is_said_and_what_was_typed_is_kept(parent: Browser, typed: dict[str, str], says: str) -> None:
    form = parent.get("/packets/new?food=granola-bar-hard")
    page = parent.send(
        form, "/packets/new", "Show what it means", 422, contains="Contains: oats" if typed else "", **typed
    )
    assert says in page.text.replace(",", "").replace("20 000", "20000") or says in page.text
    data = page.form("/packets/new").data()
    assert all(data[name] == [value] for name, value in typed.items() if name not in ("no_warning", "holds"))
    assert not any(word in page.text.lower() for word in ("invalid", "error", "pattern"))


@pytest.mark.parametrize(
    ("language", "typed", "kept_as"),
    [("en", "1,360", 1360), ("en", "1.36", 1.36), ("en", "1,36", 1.36), ("es", "1.360", 1360), ("es", "1,36", 1.36)],
)
def test_a_figure_is_read_as_people_of_that_language_print_it(
    kitchen: Kitchen, language: str, typed: str, kept_as: float
) -> None:
    """1,360 mg of sodium are not 1.36 mg. Separators: Unicode CLDR, numbers of English and Spanish."""
    device = kitchen.browser(language=language)
    page = device.get("/packets/new?food=granola-bar-hard")
    page = device.send(page, "/packets/new", ingredients="Oats", **{"figure-sodium_mg": typed})
    device.send(page, "/packets/new", do="keep")
    assert stored(device, device.address)["facts"]["sodium_mg"] == kept_as


def test_a_second_packet_of_a_day_leads_to_the_first(parent: Browser) -> None:
    address = kept(parent, "granola-bar-hard", ingredients="Oats")
    page = parent.send(shown(parent, "granola-bar-hard", ingredients="Oats, egg"), "/packets/new", "Save", 422)
    assert "was read on that day already" in page.text
    assert (address, "Open that one") in page.links
    assert page.form("/packets/new").data()["ingredients"] == ["Oats, egg"]


def test_a_form_sent_twice_is_carried_out_once(parent: Browser) -> None:
    form = shown(parent, "granola-bar-hard", ingredients="Oats").form("/packets/new")
    for _twice in range(2):
        answer = parent.client.post(form.action, data=form.data("Save"), headers=OURS, follow_redirects=False)
        assert answer.status_code == 303
    packets = parent.client.get("/v1/packets?limit=200").json()["items"]
    assert [one["food"] for one in packets].count("granola-bar-hard") == 1


# Which food


def test_the_food_is_found_among_all_kinds(kitchen: Kitchen, parent: Browser) -> None:
    page = parent.send(parent.get("/packets/new"), "/packets/new", find="rice cake")
    assert "your own food" in page.text
    assert any(text == "rice cake, plain" for _address, text in page.links)
    hummus = parent.get("/packets/new?find=hummus")
    assert ("/packets/new?food=hummus", "hummus, shop bought") in hummus.links
    assert "from a food table" in hummus.text
    assert "In hummus and vegetable wrap" in hummus.text
    assert "No food is called that." in parent.get("/packets/new?find=zzzzqqq").text


def test_a_dish_leads_to_its_ingredients(kitchen: Kitchen, parent: Browser) -> None:
    own = next(one for one in parent.client.get("/v1/recipes").json()["items"] if one["name"] == "rice and bean pot")
    for dish in (own["id"], "wrap-hummus-vegetable"):
        page = parent.get(f"/packets/new?food={dish}")
        assert "For a dish, read the packets of its ingredients" in page.text
        assert any(address.startswith("/packets/new?food=") for address, _text in page.links)
    assert "is not here any more" in parent.get("/packets/new?food=no-such-food", 404).text


# The list


def test_the_list_counts_finds_and_says_what_is_due(kitchen: Kitchen, on: date) -> None:
    over = {"food": "hummus", "read_on": (on - timedelta(91)).isoformat(), "ingredients": "Chickpeas, tahini"}
    soon = {"food": "oats-rolled-dry", "read_on": (on - timedelta(80)).isoformat(), "ingredients": "Oats"}
    once = {
        "food": "yogurt-soy",
        "read_on": (on - timedelta(9)).isoformat(),
        "ingredients": "Milk",
        "holds_for_days": 0,
    }
    browser = kitchen.browser()
    before = browser.client.get("/v1/packets?limit=200").json()["items"]
    ticks = [{"allergen": "peanut", "level": "not_named"}]
    first = kitchen.keep("packets", {**over, "gtin": "4006381333931", "allergens": ticks})
    second = kitchen.keep("packets", soon)
    third = kitchen.keep("packets", once)
    page = browser.get("/packets")
    assert f"{len(before) + 3} packets read" in page.text
    due = page.text.split("To read again", 1)[1].split("packets read", 1)[0]
    assert "was used until" in due
    assert "rolled oats, dry used until" in due
    again = [address for address, _text in page.links if address.startswith("/packets/new?like=")]
    assert again == [f"/packets/new?like={first}", f"/packets/new?like={second}"]
    assert "this packet only" in page.text
    assert f"/packets/{third}" in [address for address, _text in page.links]
    found = browser.send(page, "/packets", q="humm")
    assert f"1 of {len(before) + 3} packets found for “humm”" in found.text
    by_number = browser.send(page, "/packets", q="4006381 33393")
    assert f"/packets/{first}" in [address for address, _text in by_number.links]
    nothing = browser.send(page, "/packets", q="zzzz")
    assert ("/packets/new?find=zzzz", "Read a packet of “zzzz”") in nothing.links
    like = browser.get(f"/packets/new?like={first}")
    assert "Compare it with the new one word for word" in like.text
    taken_over = like.form("/packets/new").data()
    assert not any(value[0] for name, value in taken_over.items() if name.startswith("tick-"))
    assert (taken_over["ingredients"], taken_over["read_on"]) == (["Chickpeas, tahini"], [on.isoformat()])


def test_a_newer_packet_takes_the_place_of_an_older_one(new_kitchen: Kitchen, on: date) -> None:
    new_kitchen.keep("children", CHILD)
    for days, until in ((120, 90), (10, 90), (5, 0)):
        body = {"food": "hummus", "read_on": (on - timedelta(days)).isoformat(), "holds_for_days": until}
        new_kitchen.keep("packets", {**body, "ingredients": "Chickpeas"})
    page = new_kitchen.browser().get("/packets")
    assert page.text.count("in use") == 1
    assert page.text.count("a newer one is used") == 1
    assert not any(address.startswith("/packets/new?like=") for address, _text in page.links)


def test_an_empty_list_teaches_by_one_example(new_kitchen: Kitchen) -> None:
    new_kitchen.keep("children", CHILD)
    page = new_kitchen.browser().get("/packets")
    assert "For example: a packet of oat bars says" in page.text
    assert ("/packets/new", "Read a packet") in page.links
    assert "No packet has to be read now." in page.text


# A packet that was read ends its prompts


def test_a_packet_read_ends_its_prompts_everywhere(kitchen: Kitchen, parent: Browser, on: date) -> None:
    offer = kitchen.set_out("usual mornings", on)
    wanted = parent.client.get("/v1/packets/to-read").json()["to_read"]
    of_offer = parent.client.get(f"/v1/packets/to-read?offer={offer}").json()["to_read"]
    (food, name) = next((one["food"], one["name"]) for one in of_offer if len(one["food"]) < 36)
    read = f"/packets/new?food={food}"
    for prompting in ("/", f"/set-out/{offer}"):
        assert read in [address for address, _text in parent.get(prompting).links], prompting
    page = parent.get("/packets")
    assert read in [address for address, _text in page.links]
    assert f"{len(wanted)} packet" in page.text
    address = kept(parent, food, ingredients="Water, salt.", no_warning="yes")
    for prompting in ("/", f"/set-out/{offer}"):
        assert read not in [one for one, _text in parent.get(prompting).links], prompting
    after = parent.get("/packets")
    assert read not in [one for one, _text in after.links]
    assert (address, name) in after.links
    assert food not in [one["food"] for one in parent.client.get("/v1/packets/to-read").json()["to_read"]]
    parent.send(parent.get(f"{address}/remove"), f"{address}/remove")
    assert read in [one for one, _text in parent.get("/").links]


# Editing and removing


def test_of_two_edits_both_are_shown_and_nothing_typed_is_lost(parent: Browser) -> None:
    address = kept(parent, "granola-bar-hard", ingredients="Oats, honey", **{"tick-milk": "not_named"})
    mine = parent.get(f"{address}/edit")
    mine = parent.send(mine, f"{address}/edit", "Show what it means", ingredients="Oats, honey, almonds", holds="30")
    theirs = parent.send(
        parent.get(f"{address}/edit"), f"{address}/edit", "Show what it means", ingredients="Oats, figs"
    )
    parent.send(theirs, f"{address}/edit", "Save")
    both = parent.send(mine, f"{address}/edit", "Save", 409)
    assert "This was changed on another device meanwhile" in both.text
    assert "List of ingredients Yours Oats, honey, almonds There now Oats, figs" in both.text
    assert "Use it for Yours 30 days There now 90 days" in both.text
    assert both.form(f"{address}/edit").data()["ingredients"] == ["Oats, honey, almonds"]
    assert stored(parent, address)["ingredients"] == "Oats, figs"
    parent.send(both, f"{address}/edit", "Save mine")
    assert stored(parent, address)["ingredients"] == "Oats, honey, almonds"


def test_what_was_removed_meanwhile_can_be_kept_again(parent: Browser) -> None:
    address = kept(parent, "granola-bar-hard", ingredients="Oats, honey")
    mine = parent.send(parent.get(f"{address}/edit"), f"{address}/edit", "Show what it means", ingredients="Oats, figs")
    parent.send(parent.get(f"{address}/remove"), f"{address}/remove")
    gone = parent.send(mine, f"{address}/edit", "Save", 409)
    assert "It was removed on another device" in gone.text
    parent.send(gone, "/packets/new", "Save")
    assert stored(parent, parent.address)["ingredients"] == "Oats, figs"


def test_removing_asks_once_more_and_again_after_a_change(parent: Browser) -> None:
    address = kept(parent, "granola-bar-hard", ingredients="Oats, honey")
    ask = parent.get(f"{address}/remove")
    assert "Remove this packet?" in ask.text
    edit = parent.send(parent.get(f"{address}/edit"), f"{address}/edit", "Show what it means", ingredients="Oats, figs")
    parent.send(edit, f"{address}/edit", "Save")
    changed = parent.send(ask, f"{address}/remove", status=409)
    assert "It was changed on another device" in changed.text
    assert "figs" in changed.text
    parent.send(changed, f"{address}/remove")
    assert parent.address == "/packets"
    parent.get(address, 404)


# The photograph


def test_a_photograph_is_kept_shown_replaced_and_removed(kitchen: Kitchen, parent: Browser) -> None:
    page = shown(parent, "granola-bar-hard", ingredients="Oats")
    answer = send_photo(parent, page, "/packets/new", photo(comment=b"Mill Lane"), do="keep")
    address = answer.url.path
    there = Page(answer.text)
    image = next(one for one in there.images if "/photo" in (one.get("src") or ""))
    assert image["alt"].startswith("Photograph of the packet of")
    served = parent.client.get(image["src"])
    assert served.headers["content-type"] == "image/jpeg"
    assert served.headers["x-content-type-options"] == "nosniff"
    assert served.headers["cache-control"].startswith("private")
    assert b"Mill Lane" not in served.content
    assert Image.open(io.BytesIO(served.content)).size == (30, 20)
    answer = send_photo(parent, there, f"{address}/photo", photo(quality=20))
    replaced = next(one for one in Page(answer.text).images if "/photo" in (one.get("src") or ""))
    assert replaced["src"] != image["src"]
    gone = parent.send(Page(answer.text), f"{address}/photo/remove")
    assert not [one for one in gone.images if "/photo" in (one.get("src") or "")]
    parent.get(f"{address}/photo", 404)
    assert stored(parent, address)["ingredients"] == "Oats"


def test_what_is_no_photograph_is_refused_and_nothing_is_half_kept(parent: Browser) -> None:
    page = shown(parent, "granola-bar-hard", ingredients="Oats")
    heic = b"\x00\x00\x00\x18ftypheic" + bytes(60)
    answer = send_photo(parent, page, "/packets/new", heic, do="keep")
    assert answer.status_code == 422
    again = Page(answer.text)
    assert "Set the phone's camera to take JPEG photographs" in again.text
    assert again.form("/packets/new").data()["ingredients"] == ["Oats"]
    assert "granola-bar-hard" not in [one["food"] for one in parent.client.get("/v1/packets?limit=200").json()["items"]]
    address = kept(parent, "granola-bar-hard", ingredients="Oats")
    there = parent.get(address)
    assert send_photo(parent, there, f"{address}/photo", b"no image").status_code == 422
    assert "Choose a photograph first." in parent.send(there, f"{address}/photo", status=422).text
    large = send_photo(parent, there, f"{address}/photo", bytes(12_000_001))
    assert large.status_code == 413


# Rights and what is typed


def test_a_device_that_packs_sees_packets_and_changes_none(kitchen: Kitchen, parent: Browser) -> None:
    address = kept(parent, "granola-bar-hard", ingredients="Oats")
    send_photo(parent, parent.get(address), f"{address}/photo", photo())
    packer = kitchen.browser("pack")
    for there in (packer.get("/packets"), packer.get(address)):
        assert not [one for one, _text in there.links if "/new" in one or "/edit" in one or "/remove" in one]
        assert not [one for one in there.forms if one.method == "post" and one.action.startswith("/packets")]
    assert packer.client.get(f"{address}/photo").status_code == 200
    for hidden in ("/packets/new", f"{address}/edit", f"{address}/remove"):
        packer.get(hidden, 403)
    token = packer.get("/packets").form("/language").data()["token"]
    for action in (
        "/packets/new",
        f"{address}/edit",
        f"{address}/remove",
        f"{address}/photo",
        f"{address}/photo/remove",
    ):
        assert packer.client.post(action, data={"token": token}, headers=OURS).status_code == 403
    assert packer.client.post("/v1/packets", json={}, headers=OURS).status_code == 403, "as the API has it"


def test_a_childs_device_and_another_household_see_no_packet(kitchen: Kitchen, parent: Browser) -> None:
    address = kept(parent, "granola-bar-hard", ingredients="Oats")
    send_photo(parent, parent.get(address), f"{address}/photo", photo())
    child = kitchen.browser("take", kitchen.children["Rowan"])
    for hidden in ("/packets", address, f"{address}/photo", "/packets/new"):
        child.get(hidden, 403)
    neighbours = empty_kitchen(kitchen.store, kitchen.url)
    neighbours.opened = kitchen.opened  # closed together
    neighbours.keep("children", CHILD)
    other = neighbours.browser()
    mine = other.get("/packets/new?food=apple").form("/packets/new").data()
    for hidden in (address, f"{address}/photo", f"{address}/edit", f"{address}/remove"):
        other.get(hidden, 404)
    data = {"token": mine["token"], "version": "1"}
    assert other.client.post(f"{address}/photo/remove", data=data, headers=OURS).status_code == 404
    assert (
        other.client.post(f"{address}/remove", data=data, headers=OURS).url.path == "/packets"
    )  # as of one that is gone
    assert stored(parent, address)["ingredients"] == "Oats"
    assert parent.client.get(f"{address}/photo").status_code == 200


def test_a_form_without_its_token_or_from_elsewhere_is_refused(parent: Browser) -> None:
    form = shown(parent, "granola-bar-hard", ingredients="Oats").form("/packets/new")
    data = form.data("Save")
    without = {name: value for name, value in data.items() if name != "token"}
    assert parent.client.post("/packets/new", data=without, headers=OURS).status_code == 403
    cross = parent.client.post("/packets/new", data=data, headers={"Sec-Fetch-Site": "cross-site"})
    assert cross.status_code == 403
    assert "granola-bar-hard" not in [one["food"] for one in parent.client.get("/v1/packets?limit=200").json()["items"]]


def test_what_was_typed_is_shown_as_text(kitchen: Kitchen, parent: Browser) -> None:
    nasty = "Oats <script>alert(1)</script>, <img src=x onerror=alert(1)>, butter \u202eevil"
    page = shown(parent, "granola-bar-hard", ingredients=nasty)
    address = kept(parent, "granola-bar-hard", ingredients=nasty)
    for html in (page.html, parent.get(address).html, parent.get(f"{address}/edit").html):
        assert "<script>alert" not in html
        assert "<img src=x" not in html
    assert "<mark" in parent.get(address).html
    assert "\u202eevil</bdi>" in parent.get(address).html


# Whose law the label follows


def test_a_word_that_hides_nothing_where_it_was_bought_is_not_asked_about(kitchen: Kitchen, parent: Browser) -> None:
    """Regulation (EU) No 1169/2011, Annex II, as kept in Great Britain: a label has to name mustard; 21 CFR 101.22(a)(2): a US
    label may say "spices"."""
    child = parent.client.post("/v1/children", json=CHILD | {"avoids": [{"allergen": "mustard"}]}, headers=OURS).json()
    page = shown(parent, "crackers-rice", ingredients="Rice, sunflower oil, spices, salt")

    def outcome(address: str) -> str:
        lunch = {"items": [{"food": "crackers-rice"}]}
        asked = {"on": "2026-12-01", "child": child["id"], "lunch": lunch, "max_changes": 0}
        reply = parent.client.post("/v1/lunch-checks", json=asked, headers=OURS).json()
        found: str = next(one["outcome"] for one in reply["allergens"] if one["allergen"] == "mustard")
        return found

    parent.send(page, "/packets/new", "Save")
    address = parent.address
    assert outcome(address) == "check_label"
    edit = parent.get(f"{address}/edit")
    read = parent.send(edit, f"{address}/edit", "Show what it means", label_law="GB")
    parent.send(read, f"{address}/edit", "Save")
    assert (stored(parent, address)["label_law"], outcome(address)) == ("GB", "not_declared")
    parent.client.patch(
        "/v1/household",
        json={"regions": ["US"]},
        headers=OURS | {"If-Match": "*", "Content-Type": "application/merge-patch+json"},
    )
    assert outcome(address) == "not_declared"  # what the packet says comes before where the family lives


@pytest.mark.parametrize(
    ("regions", "outcome"), [(["GB"], "not_declared"), (["US"], "check_label"), (["GB", "US"], "check_label")]
)
def test_the_country_chosen_at_home_is_that_of_its_labels(kitchen: Kitchen, regions: list[str], outcome: str) -> None:
    child = kitchen.keep("children", CHILD | {"avoids": [{"allergen": "celery"}]})
    packet = KeptPacket.model_validate(
        {"food": "crackers-rice", "read_on": "2026-11-24", "ingredients": "Rice, natural flavouring"}
    )
    with kitchen.store.writing() as connection:
        edit_settings(connection, kitchen.id, to_json({"regions": regions}))
        read = read_packet(connection, kitchen.id, packet)
    (mine,) = [one for one in read["children"] if one["id"] == child]
    assert [one["outcome"] for one in mine["allergens"]] == [outcome]
