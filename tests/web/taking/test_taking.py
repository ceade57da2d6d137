"""A child's page: what is offered, what is taken, what is logged, and what nobody else sees."""

from datetime import date
from urllib.parse import urlencode

import pytest

from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.reading import Page


@pytest.fixture
def set_out(kitchen: Kitchen, on: date) -> Kitchen:
    """The family with its usual mornings set out today, whichever day of the week it is."""
    kitchen.set_out("usual mornings", on)
    return kitchen


def taken_one_of_each(browser: Browser, child: str) -> Page:
    """The page after the first possible tile of each group was tapped."""
    there = browser.get(f"/take/{child}")
    while True:
        form = there.form(f"/take/{child}")
        names = {value.split("~")[0] for name, value in form.fields if name == "take"}
        free = [value for name, value, _text, on in form.buttons if on and value.split("~")[0] not in names]
        if not free:
            return there
        there = browser.get("/take/" + child + "?" + "&".join(f"{n}={v}" for n, v in [*form.fields, ("tap", free[0])]))


def test_a_child_takes_one_of_each_and_it_is_logged_once(set_out: Kitchen, on: date) -> None:
    rowan = set_out.children["Rowan"]
    browser = set_out.browser("take", rowan)
    assert browser.address == f"/take/{rowan}"
    before = browser.get("/")
    assert "Still to take: one from main, one from fruit, one from vegetable and one from drink" in before.text
    whole = taken_one_of_each(browser, rowan)
    assert "You can finish now." in whole.text
    finish = next(one for one in whole.forms if one.method == "post")
    for _twice in range(2):
        browser.client.post(finish.action, data=finish.data(), headers=OURS)
    lunch = set_out.lunch(rowan, on)
    assert lunch is not None
    assert len(lunch["items"]) == 4
    assert lunch["kind"] == "packed"
    after = browser.get(f"/take/{rowan}")
    assert "Rowan, your lunch is packed." in after.text
    browser.send(after, f"/take/{rowan}/undo")
    assert set_out.lunch(rowan, on) is None


def test_a_script_is_given_the_page_of_a_tap_at_once(set_out: Kitchen) -> None:
    rowan = set_out.children["Rowan"]
    browser = set_out.browser("take", rowan)
    form = browser.get(f"/take/{rowan}").form(f"/take/{rowan}")
    tiles = [value for _name, value, _text, on in form.buttons if on]
    taken: list[str] = []
    for tile in (
        tiles[0],
        tiles[1],
        tiles[-1],
        tiles[-1],
    ):  # another main takes the place of the first; a drink is put back
        asked = [*(field for field in form.fields if field[0] != "take"), *(("take", one) for one in taken)]
        at_once = browser.client.get(f"/take/{rowan}?{urlencode([*asked, ('tapped', tile)])}", follow_redirects=False)
        assert at_once.status_code == 200
        without_script = browser.get(f"/take/{rowan}?{urlencode([*asked, ('tap', tile)])}")
        there = Page(at_once.text).form(f"/take/{rowan}")
        assert there == without_script.form(f"/take/{rowan}")
        taken = [value for name, value in there.fields if name == "take"]
    assert taken == [tiles[1]]


def test_done_waits_until_the_lunch_is_whole(set_out: Kitchen, on: date) -> None:
    rowan = set_out.children["Rowan"]
    browser = set_out.browser("take", rowan)
    there = browser.get(f"/take/{rowan}")
    finish = next(one for one in there.forms if one.method == "post")
    assert not finish.buttons[0][3]
    refused = browser.client.post(finish.action, data=finish.data(), headers=OURS)
    assert refused.status_code == 409
    assert set_out.lunch(rowan, on) is None


def test_a_childs_device_reaches_nothing_but_its_page(set_out: Kitchen) -> None:
    rowan, linden = set_out.children["Rowan"], set_out.children["Linden"]
    browser = set_out.browser("take", rowan)
    browser.get(f"/take/{linden}", 404)
    for address in ("/v1/children", "/v1/lunches", f"/v1/children/{rowan}"):
        assert browser.client.get(address).status_code == 403
    assert "Linden" not in browser.get("/").text


def test_a_form_without_its_token_is_refused(set_out: Kitchen, on: date) -> None:
    rowan = set_out.children["Rowan"]
    browser = set_out.browser("take", rowan)
    finish = next(one for one in taken_one_of_each(browser, rowan).forms if one.method == "post")
    data = {name: value for name, value in finish.data().items() if name != "token"}
    assert browser.client.post(finish.action, data=data, headers=OURS).status_code == 403
    cross = browser.client.post(finish.action, data=finish.data(), headers={"Sec-Fetch-Site": "cross-site"})
    assert cross.status_code == 403
    assert set_out.lunch(rowan, on) is None
