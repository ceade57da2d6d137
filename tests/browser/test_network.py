"""Promise: what is tapped while the network is away is kept on the device and sent later once; nothing is lost or doubled."""

import re
from collections.abc import Callable

from playwright.sync_api import Error, Page, Route, expect

from service.jobs.household.access.households import today
from service.store.household.kinds import LUNCH
from service.store.household.records import page as records
from tests.browser.houses import House
from tests.browser.taking import lunch, take_one_of_each

TAP = re.compile(r"/take/[^?]*\?.*\btapped=")
NOTHING_WAITS = """async (most) => {
  const until = Date.now() + most;
  for (;;) {
    const waiting = localStorage.getItem("lunches to send") || "[]";
    if (waiting === "[]") return;
    if (Date.now() > until) throw new Error(`after ${most} ms this still waits to be sent: ${waiting}`);
    await new Promise((done) => setTimeout(done, 20));
  }
}"""
"""Ends when no lunch waits to be sent; a function, since the pages allow no script that is made from a text."""
LONGEST_MS = 60_000
"""For what waits to be sent: an answer that never comes is given up after 15 seconds, and five later it is sent again."""
WAITING = "Not sent yet. It is sent when the network is back."


def linden(house: House) -> Page:
    """The device on which Linden takes."""
    return house.device("take", house.kitchen.children["Linden"])


def done(page: Page) -> None:
    """Press the button that logs the lunch."""
    page.get_by_role("button", name="Done").click()


def is_packed(page: Page, house: House) -> None:
    """The lunch is logged and shown so, and nothing waits to be sent any more."""
    expect(page.get_by_role("heading", name="Linden, your lunch is packed.")).to_be_visible()
    assert lunch(house, "Linden") is not None
    nothing_waits(page)


def nothing_waits(page: Page) -> None:
    """Wait until no lunch is to be sent; the page may load itself again meanwhile, when the one that waited is sent."""
    for last in (False, False, True):
        try:
            page.evaluate(NOTHING_WAITS, LONGEST_MS)
            return
        except Error as fault:
            if last or "context was destroyed" not in fault.message:
                raise
            page.wait_for_load_state()


def test_a_lunch_without_a_network_is_sent_later_once(house: House) -> None:
    page = linden(house)
    take_one_of_each(page)
    page.context.set_offline(True)
    done(page)
    expect(page.locator("#waiting")).to_have_text(WAITING)
    assert lunch(house, "Linden") is None
    page.context.set_offline(False)
    is_packed(page, house)


def test_taps_without_a_network_are_shown_and_carried_out_later_in_their_order(house: House) -> None:
    page = linden(house)
    groups = page.locator("fieldset.choice")
    page.context.set_offline(True)
    for place in range(groups.count()):
        groups.nth(place).locator("button.tile").first.click()
        expect(groups.nth(place).locator("button[aria-pressed=true]")).to_have_count(1)
    expect(page.locator("#waiting")).to_have_text(WAITING)
    expect(page.get_by_role("button", name="Done")).to_be_disabled()
    page.context.set_offline(False)
    expect(page.locator("#still")).to_have_text("You can finish now.")
    expect(page.locator("#waiting")).to_be_hidden()
    expect(page.locator("button[aria-pressed=true]")).to_have_count(groups.count())
    done(page)
    is_packed(page, house)


def test_a_page_that_is_closed_while_the_network_is_away_sends_its_lunch_when_it_is_opened_again(house: House) -> None:
    page = linden(house)
    take_one_of_each(page)
    page.context.set_offline(True)
    done(page)
    expect(page.locator("#waiting")).to_be_visible()
    context = page.context
    page.close()
    context.set_offline(False)
    again = context.new_page()
    again.goto(house.address + "/")
    is_packed(again, house)


def on_its_way(page: Page, then: Callable[[Route], None]) -> list[str]:
    """Let something happen to the first lunch that is sent, and let the others go; what was sent."""
    sent: list[str] = []

    def meet(route: Route) -> None:
        if route.request.method != "POST":
            route.continue_()
            return
        sent.append(str(route.request.post_data))
        if len(sent) == 1:
            then(route)
        else:
            route.continue_()

    page.route(re.compile(r"/take/[^/?]*$"), meet)
    return sent


def test_a_lunch_whose_answer_is_lost_is_sent_again_and_logged_once(house: House) -> None:
    """The service has logged it, but the device cannot know: what it sends again carries the same key."""
    page = linden(house)
    take_one_of_each(page)

    def lost(route: Route) -> None:
        route.fetch(max_redirects=0)
        assert lunch(house, "Linden") is not None
        route.abort()

    sent = on_its_way(page, lost)
    done(page)
    is_packed(page, house)
    assert len(sent) == 2
    assert sent[0] == sent[1]
    assert len(lunches_of(house, "Linden")) == 1


def never(_route: Route) -> None:
    """An answer that never comes, as on a network that went away without a word."""


def test_a_lunch_of_which_no_answer_ever_comes_is_kept_and_sent_again(house: House) -> None:
    page = linden(house)
    take_one_of_each(page)
    sent = on_its_way(page, never)
    done(page)
    expect(page.locator("#waiting")).to_have_text(WAITING, timeout=LONGEST_MS)
    is_packed(page, house)
    assert len(sent) == 2
    assert sent[0] == sent[1]


def test_a_lunch_that_waits_and_gets_no_answer_is_sent_once_more(house: House) -> None:
    page = linden(house)
    take_one_of_each(page)
    page.context.set_offline(True)
    done(page)
    expect(page.locator("#waiting")).to_be_visible()
    sent = on_its_way(page, never)
    page.context.set_offline(False)
    expect(page.get_by_role("heading", name="Linden, your lunch is packed.")).to_be_visible(timeout=LONGEST_MS)
    is_packed(page, house)
    assert len(sent) == 2
    assert sent[0] == sent[1]


def test_a_tap_of_which_no_answer_ever_comes_is_carried_out_later(house: House) -> None:
    page = linden(house)
    held: list[Route] = []
    page.route(TAP, lambda route: held.append(route) if not held else route.continue_())
    page.locator("fieldset.choice button.tile").first.click()
    expect(page.locator("#waiting")).to_have_text(WAITING, timeout=LONGEST_MS)
    expect(page).to_have_url(re.compile("take="), timeout=LONGEST_MS)
    expect(page.locator("#waiting")).to_be_hidden()
    expect(page.locator("button[aria-pressed=true]")).to_have_count(1)


def test_a_lunch_that_finds_the_service_out_of_order_waits_for_it(house: House) -> None:
    """RFC 9110, section 15.6.4: 503 is an answer for the moment."""
    page = linden(house)
    take_one_of_each(page)
    page.context.set_offline(True)
    done(page)
    expect(page.locator("#waiting")).to_be_visible()
    sent = on_its_way(page, lambda route: route.fulfill(status=503, body="later"))
    page.context.set_offline(False)
    is_packed(page, house)
    assert len(sent) == 2
    assert sent[0] == sent[1]


def test_a_lunch_that_is_finished_while_the_service_is_out_of_order_waits_for_it(house: House) -> None:
    page = linden(house)
    take_one_of_each(page)
    sent = on_its_way(page, lambda route: route.fulfill(status=503, body="later"))
    done(page)
    expect(page.locator("#waiting")).to_have_text(WAITING)
    is_packed(page, house)
    assert len(sent) == 2
    assert sent[0] == sent[1]


def test_a_lunch_that_is_refused_when_it_comes_is_shown_again_to_be_finished(house: House) -> None:
    """Meanwhile another offer was set out: what was taken is no lunch of it any more."""
    page = linden(house)
    take_one_of_each(page)
    page.context.set_offline(True)
    done(page)
    expect(page.locator("#waiting")).to_be_visible()
    on_its_way(page, lambda route: route.fulfill(status=409, body="not any more"))
    page.context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden()
    expect(page.get_by_role("button", name="Done")).to_be_enabled()
    assert lunch(house, "Linden") is None
    done(page)
    is_packed(page, house)


def test_a_lunch_of_a_device_that_was_signed_out_meanwhile_stays_until_it_is_signed_in_again(house: House) -> None:
    page = linden(house)
    take_one_of_each(page)
    page.context.set_offline(True)
    done(page)
    expect(page.locator("#waiting")).to_be_visible()
    parent = house.device()
    parent.goto(house.address + "/devices")
    shown = parent.locator("article", has_text="It shows Linden's taking page")
    shown.get_by_role("button", name="Sign out").click()
    expect(parent.locator("main")).to_contain_text("1 device is signed in.")
    page.context.set_offline(False)
    page.reload()
    expect(page.get_by_role("heading", name="Sign in this device")).to_be_visible()
    assert lunch(house, "Linden") is None
    house.sign_in(page, "take", house.kitchen.children["Linden"])
    is_packed(page, house)


def test_a_tile_that_is_pressed_while_the_page_follows_an_earlier_tap_is_taken_too(house: House) -> None:
    """A press begins on one tile and ends on what has come in its place meanwhile: it counts all the same."""
    page = linden(house)
    held: list[Route] = []
    page.route(TAP, lambda route: held.append(route) if not held else route.continue_())
    groups = page.locator("fieldset.choice")
    with page.expect_request(TAP):
        groups.nth(0).locator("button.tile").first.click()
    groups.nth(1).locator("button.tile").first.hover()
    page.mouse.down()
    with page.expect_response(lambda answer: "tapped=" in answer.url):
        held[0].continue_()
    page.evaluate("new Promise((done) => setTimeout(done, 0))")
    page.mouse.up()
    for place in (0, 1):
        expect(groups.nth(place).locator("button[aria-pressed=true]")).to_have_count(1)
    expect(page.locator("#still")).to_contain_text("Still to take: one from vegetable and one from drink")


def lunches_of(house: House, child: str) -> list[object]:
    """All that is logged of a child today."""
    with house.kitchen.store.reading() as connection:
        found = records(connection, LUNCH, house.kitchen.id, None, 500)
    wanted = (house.kitchen.children[child], today().isoformat())
    return [one for one in found if (one.body["child"], one.body["date"]) == wanted]
