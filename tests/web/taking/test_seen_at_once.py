"""Promise: what is remembered of an offer is never older than the records: the next tap and the next page see each change.

Two devices have both pages open before each change; a third one makes it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

import orjson
import pytest

from service.jobs.household.kinds import RESOURCES
from service.jobs.household.offers import set_out_for
from service.jobs.household.records import edit_record, remove_record
from service.jobs.household.remembered import Remembered
from service.jobs.household.settings import edit_settings
from tests.web.kitchens import Browser, Kitchen

SANDWICH, APPLE, PEAR, GRAPES = "sandwich-peanut-butter", "apple", "pear", "grapes"
MILK = [{"allergen": "milk", "level": "contains"}]
PEANUT = {"allergen": "peanut", "level": "contains"}
SPREAD = {
    "name": "nut spread",
    "serving": {"grams": 30},
    "allergens": [{"allergen": "milk", "level": "free"}, PEANUT],
}
SOUP = {"name": "leek soup", "portions": 2, "ingredients": [{"food": APPLE, "grams": 100}]}


@dataclass
class Morning:
    """A kitchen with one offer set out today, and the ids of what is in it."""

    kitchen: Kitchen
    on: date
    ids: dict[str, str]

    def edit(self, collection: str, of: str, **parts: Any) -> None:
        """Change parts of a record, as any device may at any time."""
        with self.kitchen.store.writing() as connection:
            edit_record(
                connection,
                RESOURCES[collection],
                self.kitchen.id,
                self.ids[of],
                lambda _version: None,
                orjson.dumps(parts),
                None,
            )

    def remove(self, collection: str, of: str) -> None:
        """Remove a record."""
        with self.kitchen.store.writing() as connection:
            remove_record(connection, RESOURCES[collection], self.kitchen.id, self.ids[of], lambda _version: None)

    def settings(self, **parts: Any) -> None:
        """Change what the household says of itself."""
        with self.kitchen.store.writing() as connection:
            edit_settings(connection, self.kitchen.id, orjson.dumps(parts))


@pytest.fixture
def morning(new_kitchen: Kitchen, on: date) -> Morning:
    """A sandwich, an own food and an own dish set out with three fruits, for a child of five years that avoids milk."""
    keep = new_kitchen.keep
    born = f"{on.year - 5}-{on.month:02}"
    avoids_milk = {"avoids": [{"allergen": "milk"}], "birth_month": born}
    ids = {
        "Ash": keep("children", {"nickname": "Ash", "standard": "us-school-lunch", **avoids_milk}),
        "Elm": keep("children", {"nickname": "Elm", "standard": "us-school-lunch", "birth_month": f"{on.year - 9}-01"}),
        "spread": keep("foods", SPREAD),
        "soup": keep("recipes", SOUP),
    }
    main = [{"food": SANDWICH}, {"food": ids["spread"]}, {"food": ids["soup"]}]
    fruit = [{"food": APPLE}, {"food": PEAR}, {"food": GRAPES}]
    groups = [{"id": "main", "items": main}, {"id": "fruit", "items": fruit}]
    ids["mornings"] = keep("offers", {"name": "mornings", "groups": groups})
    ids["other"] = keep("offers", {"name": "other", "groups": [{"id": "fruit", "items": [{"food": "banana"}]}]})
    ids["stock"] = keep("stock", {"food": APPLE, "place": "fridge", "portions": 2, "made_on": on.isoformat()})
    ids["day"] = keep("school_days", {"date": on.isoformat(), "offer": ids["mornings"]})
    new_kitchen.children |= {name: ids[name] for name in ("Ash", "Elm")}
    return Morning(new_kitchen, on, ids)


def _contains_milk(morning: Morning) -> None:
    morning.edit("foods", "spread", allergens=MILK)


def _dish_with_milk(morning: Morning) -> None:
    morning.edit("recipes", "soup", ingredients=[{"food": "milk-whole", "grams": 100}])


def _packet_with_milk(morning: Morning) -> None:
    packet = {"food": PEAR, "read_on": morning.on.isoformat(), "allergens": MILK}
    morning.ids["packet"] = morning.kitchen.keep("packets", packet)


def _avoids_peanut(morning: Morning) -> None:
    morning.edit("children", "Ash", avoids=[{"allergen": "milk"}, {"allergen": "peanut"}])


def _school_bans_peanut(morning: Morning) -> None:
    morning.edit("children", "Ash", bans=["peanut"])


def _dislikes_pear(morning: Morning) -> None:
    morning.edit("children", "Ash", dislikes=[PEAR])


def _younger(morning: Morning) -> None:
    morning.edit("children", "Ash", birth_month=f"{morning.on.year - 3}-{morning.on.month:02}")


def _by_another_standard(morning: Morning) -> None:
    morning.edit("children", "Ash", standard="gb-sct-school-lunch", age_group="primary")


def _by_other_regions(morning: Morning) -> None:
    morning.settings(regions=["US"])


def _another_food(morning: Morning) -> None:
    morning.edit("offers", "mornings", groups=[{"id": "fruit", "items": [{"food": "banana"}]}])


def _used_up(morning: Morning) -> None:
    entry = morning.ids["stock"]
    browser = morning.kitchen.browser()
    browser.send(browser.get(f"/stock/{entry}"), f"/stock/{entry}/happened", event="taken", portions="")


def _another_offer(morning: Morning) -> None:
    morning.edit("school_days", "day", offer=morning.ids["other"])


def _sibling_takes_the_last(morning: Morning) -> None:
    items = [{"food": APPLE, "quantity": 2, "unit": "apple"}]
    morning.kitchen.keep(
        "lunches", {"child": morning.ids["Elm"], "date": morning.on.isoformat(), "kind": "packed", "items": items}
    )


def _logged_on_another_device(morning: Morning) -> None:
    morning.kitchen.keep("lunches", {"child": morning.ids["Ash"], "date": morning.on.isoformat(), "kind": "none"})


TAKE, SET_OUT = "take", "set out"
FRIDAY = 5
"""By ISO 8601."""
CHANGES: list[tuple[Callable[[Morning], None], set[str]]] = [
    (_contains_milk, {TAKE, SET_OUT}),
    (_dish_with_milk, {TAKE, SET_OUT}),
    (_packet_with_milk, {TAKE, SET_OUT}),
    (_avoids_peanut, {TAKE, SET_OUT}),
    (_school_bans_peanut, {TAKE, SET_OUT}),
    (_dislikes_pear, {TAKE, SET_OUT}),
    (_younger, {SET_OUT}),
    (_by_another_standard, {SET_OUT}),
    (_by_other_regions, {TAKE, SET_OUT}),
    (_another_food, {TAKE, SET_OUT}),
    (_used_up, {TAKE, SET_OUT}),
    (_another_offer, {TAKE, SET_OUT}),
    (_sibling_takes_the_last, {TAKE, SET_OUT}),
    (_logged_on_another_device, {TAKE}),
]


def _pages(browser: Browser, morning: Morning, tapped: str = "") -> dict[str, Any]:
    """What can be read on both pages, and which tiles can be tapped."""
    taking = browser.get(f"/take/{morning.ids['Ash']}{tapped}")
    tiles = [(value, on) for form in taking.forms for name, value, _text, on in form.buttons if name == "tap"]
    return {TAKE: (taking.text, tiles), SET_OUT: browser.get(f"/set-out/{morning.ids['mornings']}").text}


@pytest.mark.parametrize(("change", "seen_on"), CHANGES, ids=lambda one: getattr(one, "__name__", ""))
def test_the_next_tap_and_the_next_page_see_a_change(
    morning: Morning, change: Callable[[Morning], None], seen_on: set[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    devices = [morning.kitchen.browser(), morning.kitchen.browser()]
    tapped = f"?tapped=fruit~{PEAR}"
    before = _pages(devices[0], morning, tapped)
    assert _pages(devices[1], morning, tapped) == before
    change(morning)
    after = [_pages(one, morning, tapped) for one in devices]
    if change is _another_offer and morning.on.isoweekday() > FRIDAY:
        seen_on = seen_on - {SET_OUT}  # the page of what is set out has the days from Monday to Friday
    assert {page for page in before if after[0][page] != before[page]} == seen_on
    assert after[1] == after[0]
    monkeypatch.setattr(set_out_for, "_remembered", Remembered[set_out_for.SetOut](1))
    assert _pages(devices[0], morning, tapped) == after[0], "as if nothing had been remembered"
