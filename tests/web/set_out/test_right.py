"""An offer made right for everyone: what would change is shown, done on one tap, and the count it promised comes true."""

from contextlib import closing

import pytest

from service.store.database import Store
from tests.web.kitchens import OURS, Browser, Kitchen, empty_kitchen
from tests.web.reading import Page
from tests.web.set_out.test_follows import avoid
from tests.web.set_out.test_follows import offer as offer  # noqa: PLC0414 - a fixture
from tests.web.set_out.test_offers import form_with, send, stored


@pytest.fixture
def parent(kitchen: Kitchen) -> Browser:
    """A device that may do everything."""
    return kitchen.browser()


def test_it_is_asked_for_on_the_offer_and_only_by_who_may_change_it(
    kitchen: Kitchen, parent: Browser, offer: str
) -> None:
    form = parent.get(f"/set-out/{offer}").form(f"/set-out/{offer}/right")
    assert form.data() == {}  # more foods come in only where they are asked for
    packer = kitchen.browser("pack")
    assert "/right" not in [one.action[-6:] for one in packer.get(f"/set-out/{offer}").forms]
    packer.get(f"/set-out/{offer}/right", 403)


@pytest.mark.parametrize("more", ["false", "true"])
def test_what_is_shown_is_stored_on_one_tap_and_every_lunch_is_ready(
    kitchen: Kitchen, parent: Browser, offer: str, more: str
) -> None:
    before = stored(kitchen, offer)
    page = parent.get(f"/set-out/{offer}/right?more={more}")
    assert "with these changes every lunch is right" in page.text
    assert stored(kitchen, offer) == before
    send(parent, page.form(f"/set-out/{offer}/make-right"))
    after = stored(kitchen, offer)
    foods = {item["food"] for group in before["groups"] for item in group["items"]}
    came = {item["food"] for group in after["groups"] for item in group["items"]} - foods
    assert bool(came) is (more == "true")
    amounts = [one for group in after["groups"] for item in group["items"] for one in item["portions"]]
    assert {one["child"] for one in amounts} <= set(kitchen.children.values())
    assert amounts
    text = parent.get(f"/set-out/{offer}").text
    assert "Not enough" not in text
    assert "Too much" not in text


def test_what_was_done_is_undone_by_one_tap_rules_and_all(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    take = {"at_least": "2", "at_most": "2"}
    send(
        parent,
        form_with(parent.get(f"/set-out/{offer}"), "rule"),
        **{"with": "fruit~apple", "then_group": "vegetable"},
        **take,
    )
    before = stored(kitchen, offer)
    done = send(parent, parent.get(f"/set-out/{offer}/right").form(f"/set-out/{offer}/make-right"))
    assert "The offer was changed." in done.text
    assert stored(kitchen, offer)["groups"] != before["groups"]
    undo = done.form(f"/set-out/{offer}/undo-right")
    assert parent.client.post(undo.action, data=undo.data(before="no json"), headers=OURS).status_code == 422
    send(parent, undo)
    assert {name: stored(kitchen, offer)[name] for name in ("groups", "rules")} == {
        name: before[name] for name in ("groups", "rules")
    }
    assert "The offer was changed." not in parent.get(f"/set-out/{offer}").text


def test_an_offer_that_was_changed_meanwhile_is_not_overwritten(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    page = parent.get(f"/set-out/{offer}/right")
    send(parent, form_with(parent.get(f"/set-out/{offer}"), "rename"), name="other mornings")
    before = stored(kitchen, offer)
    conflict = send(parent, page.form(f"/set-out/{offer}/make-right"), 409)
    assert "so that the offer is right for everyone" in conflict.text
    assert stored(kitchen, offer) == before
    send(parent, conflict.form(f"/set-out/{offer}/make-right"))
    assert stored(kitchen, offer)["groups"] != before["groups"]
    assert stored(kitchen, offer)["name"] == "other mornings"


def test_what_stands_in_the_way_is_said_with_what_to_do(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    avoid(kitchen, "Linden", "milk")
    page = parent.get(f"/set-out/{offer}/right")
    assert "No choice of these foods is right for everyone" in page.text
    assert "Linden may have none of the foods in drink. Add foods that Linden may have." in page.text
    assert (
        "Linden may have these once their packets are read, if they name nothing that Linden must avoid:" in page.text
    )
    assert "soy" in page.text
    assert [one for one in page.forms if one.action.endswith("/make-right")] == []
    again = next(one for one in page.forms if one.action.endswith("/right"))
    assert again.data() == {"more": ["true"]}


def test_rules_between_groups_are_kept_to_and_stay(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    page = parent.get(f"/set-out/{offer}")
    take = {"at_least": "2", "at_most": "2"}
    send(parent, form_with(page, "rule"), **{"with": "fruit~apple", "then_group": "vegetable"}, **take)
    rules = stored(kitchen, offer)["rules"]
    assert rules
    page = parent.get(f"/set-out/{offer}/right")
    assert "Your rules between groups were kept to while looking." in page.text
    send(parent, page.form(f"/set-out/{offer}/make-right"))
    assert stored(kitchen, offer)["rules"] == rules


def test_what_is_no_offer_of_the_page_is_refused(kitchen: Kitchen, parent: Browser, offer: str) -> None:
    form = parent.get(f"/set-out/{offer}/right").form(f"/set-out/{offer}/make-right")
    before = stored(kitchen, offer)
    for sent in ("", "no json", "[]", '[{"id": "main"}]', '[{"id": "main", "items": [{"food": "no-such-food"}]}]'):
        refused = parent.client.post(form.action, data=form.data(groups=sent), headers=OURS)
        assert refused.status_code == 422, sent
    assert stored(kitchen, offer) == before


def test_a_household_without_children_is_led_to_them(store: Store, store_url: str) -> None:
    with closing(empty_kitchen(store, store_url)) as kitchen:
        offer = kitchen.keep("offers", {"name": "mornings", "groups": [{"id": "fruit", "items": [{"food": "apple"}]}]})
        page: Page = kitchen.browser().get(f"/set-out/{offer}/right")
        assert "There is no child yet" in page.text
