"""Promise: a packet that a household stored is used in its checks, logs, offers, screenings and weeks until it ends."""

from datetime import date
from typing import Any
from uuid import UUID

import orjson
import pytest

from service.domain.errors import AlreadyThere, BadInput, LunchError, StillUsed
from service.jobs.household.kinds import CHILDREN, FOODS, LUNCHES, OFFERS, PACKETS, RECIPES
from service.jobs.household.packets.packets_to_read import Asked, packets_to_read
from service.jobs.household.records import edit_record, keep_record, remove_record
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckWithIds
from service.store.access.households import create_household
from service.store.database import Store
from tests.refused import refused

READ = {"food": "bread-whole-wheat", "read_on": "2026-11-03", "ingredients": "Wheat flour, water, yeast, salt."}
DAY = "2026-12-01"
LABEL = {"name": "plain snack", "serving": {"grams": 30}, "contains": "soya"}


@pytest.fixture
def household(store: Store) -> UUID:
    with store.writing() as connection:
        return create_household(connection, {})


def keep(store: Store, household: UUID, resource: Any, body: dict[str, Any]) -> Any:
    with store.writing() as connection:
        asked = resource.adapter.validate_json(orjson.dumps(body))
        return keep_record(connection, resource, household, asked, None)


def a_child(store: Store, household: UUID) -> str:
    child = {
        "nickname": "J",
        "standard": "us-school-lunch",
        "birth_month": "2018-03",
        "avoids": [{"allergen": "sesame"}],
    }
    return str(keep(store, household, CHILDREN, child).record.id)


def outcome(store: Store, household: UUID, child: str, food: Any, on: str = DAY) -> str:
    asked = LunchCheckWithIds.model_validate(
        {"on": on, "child": child, "lunch": {"items": [{"food": food}]}, "max_changes": 0}
    )
    with store.reading() as connection:
        whole = with_ids_resolved(connection, household, asked)
    return str(check_lunch(whole)["allergens"][0]["outcome"])


def test_it_is_used_while_it_holds(store: Store, household: UUID) -> None:
    child = a_child(store, household)
    assert outcome(store, household, child, "bread-whole-wheat") == "check_label"
    keep(store, household, PACKETS, READ)
    assert outcome(store, household, child, "bread-whole-wheat") == "not_declared"
    assert outcome(store, household, child, "bread-whole-wheat", "2027-03-01") == "check_label"


def test_what_a_newer_packet_named_is_read_again_before_the_older_one_clears_it(store: Store, household: UUID) -> None:
    child = a_child(store, household)
    keep(store, household, PACKETS, READ)
    seeds = {**READ, "ingredients": "Wheat flour, sesame seeds.", "read_on": "2026-11-20", "holds_for_days": 0}
    keep(store, household, PACKETS, seeds)
    days = ("2026-11-19", "2026-11-20", "2026-11-21")
    found = [outcome(store, household, child, "bread-whole-wheat", on) for on in days]
    assert found == ["not_declared", "avoid", "check_label"]
    keep(store, household, PACKETS, {**READ, "read_on": "2026-11-25"})
    assert outcome(store, household, child, "bread-whole-wheat") == "not_declared"


def test_own_foods_and_ingredients_of_own_recipes_have_packets_too(store: Store, household: UUID) -> None:
    child = a_child(store, household)
    own = str(keep(store, household, FOODS, LABEL).record.id)
    dish = {
        "name": "snack plate",
        "ingredients": [{"food": own, "grams": 30}, {"food": "bread-whole-wheat", "grams": 30}],
    }
    recipe = str(keep(store, household, RECIPES, dish).record.id)
    assert outcome(store, household, child, own) == "check_label"
    keep(store, household, PACKETS, {**READ, "food": own, "ingredients": "Rice, soya."})
    assert outcome(store, household, child, own) == "not_declared"
    assert outcome(store, household, child, recipe) == "check_label"
    keep(store, household, PACKETS, READ)
    assert outcome(store, household, child, recipe) == "not_declared"


def test_a_logged_lunch_is_judged_anew_after_a_packet(store: Store, household: UUID) -> None:
    child = a_child(store, household)
    body = {"child": child, "date": DAY, "kind": "packed", "items": [{"food": "bread-whole-wheat"}]}
    first = keep(store, household, LUNCHES, body)
    assert first.extra_reply["screening"]["rows"][0]["outcome"] == "check_label"

    def again() -> Any:
        with store.writing() as connection:
            version = b'{"uneaten": []}'
            return edit_record(connection, LUNCHES, household, str(first.record.id), lambda _v: None, version, None)

    keep(store, household, PACKETS, {**READ, "food": "hummus"})
    assert again().extra_reply["check"] is None
    keep(store, household, PACKETS, READ)
    assert again().extra_reply["screening"]["rows"][0]["outcome"] == "not_declared"


def test_what_does_not_fit_is_refused(store: Store, household: UUID) -> None:
    keep(store, household, PACKETS, READ)
    with pytest.raises(AlreadyThere):
        keep(store, household, PACKETS, {**READ, "ingredients": "Wheat."})
    with refused(LunchError, match="/food"):
        keep(store, household, PACKETS, {**READ, "food": "bred"})
    with refused(LunchError, match="/food"):
        keep(store, household, PACKETS, {**READ, "food": "01900000-0000-7000-8000-000000000999"})


def test_an_own_food_with_a_packet_is_not_removed(store: Store, household: UUID) -> None:
    own = str(keep(store, household, FOODS, LABEL).record.id)
    keep(store, household, PACKETS, {**READ, "food": own})
    with pytest.raises(StillUsed), store.writing() as connection:
        remove_record(connection, FOODS, household, own, lambda _version: None)


def test_the_packet_on_which_most_depends_is_to_be_read_first(store: Store, household: UUID) -> None:
    child = a_child(store, household)
    for day, food in (
        ("2026-11-24", "bread-whole-wheat"),
        ("2026-11-25", "bread-whole-wheat"),
        ("2026-11-26", "bagel-plain"),
    ):
        keep(store, household, LUNCHES, {"child": child, "date": day, "kind": "packed", "items": [{"food": food}, {"food": "apple"}]})  # fmt: skip
    assert [(one["food"], one["lunches"]) for one in to_read(store, household)] == [
        ("bread-whole-wheat", 2),
        ("bagel-plain", 1),
    ]
    (first, _second) = to_read(store, household)
    assert first["children"] == [{"id": child, "nickname": "J", "allergens": ["sesame"]}]
    keep(store, household, PACKETS, READ)
    assert [one["food"] for one in to_read(store, household)] == ["bagel-plain"]


OFFER = {
    "name": "bread and fruit",
    "groups": [
        {"id": "bread", "items": [{"food": "bread-whole-wheat"}, {"food": "bagel-plain"}]},
        {"id": "fruit", "items": [{"food": "apple"}, {"food": "pear"}, {"food": "banana"}]},
    ],
}
"""Six lunches; counted by hand: each bread is in three, one for each fruit."""


def test_an_offer_counts_the_lunches_that_depend_on_a_packet(store: Store, household: UUID) -> None:
    child = a_child(store, household)
    keep(store, household, OFFERS, OFFER)
    body = {"child": child, "date": "2026-11-24", "kind": "packed", "items": [{"food": "bread-whole-wheat"}]}
    keep(store, household, LUNCHES, body)
    assert numbers(store, household) == {"bread-whole-wheat": 4, "bagel-plain": 3}
    keep(store, household, PACKETS, READ)
    assert numbers(store, household) == {"bagel-plain": 3}


def test_a_packet_of_two_items_counts_each_lunch_once(store: Store, household: UUID) -> None:
    """Two of three breads are taken: 3 pairs, of which 2 hold the sliced bread, 2 the toast, and 3 at least one of them."""
    a_child(store, household)
    toast = {"food": "bread-whole-wheat", "key": "toast"}
    breads = {"id": "bread", "items": [{"food": "bread-whole-wheat"}, toast, {"food": "bagel-plain"}]}
    keep(store, household, OFFERS, {"name": "breads", "groups": [{**breads, "take": {"at_least": 2, "at_most": 2}}]})
    assert numbers(store, household) == {"bread-whole-wheat": 3, "bagel-plain": 2}


def test_the_lunches_of_all_children_count(store: Store, household: UUID) -> None:
    """For a child that does not take pears each bread is in two lunches; nothing of one that avoids nothing."""
    first = a_child(store, household)
    other = {"nickname": "K", "standard": "us-school-lunch", "birth_month": "2018-03", "dislikes": ["pear"]}
    second = str(keep(store, household, CHILDREN, {**other, "avoids": [{"allergen": "sesame"}]}).record.id)
    keep(store, household, CHILDREN, {"nickname": "L", "standard": "us-school-lunch", "birth_month": "2018-03"})
    keep(store, household, OFFERS, OFFER)
    assert numbers(store, household) == {"bread-whole-wheat": 5, "bagel-plain": 5}
    assert {one["id"] for row in to_read(store, household) for one in row["children"]} == {first, second}


def test_a_child_for_whom_no_audit_can_be_made_is_not_left_out(store: Store, household: UUID) -> None:
    """Scotland's standard begins at five years, and this child is three: each item counts as one lunch."""
    child: dict[str, Any] = {"nickname": "J", "standard": "gb-sct-school-lunch", "birth_month": "2023-10"}
    child |= {"avoids": [{"allergen": "sesame"}]}
    keep(store, household, CHILDREN, child)
    keep(store, household, OFFERS, OFFER)
    assert numbers(store, household) == {"bread-whole-wheat": 1, "bagel-plain": 1}


def test_too_many_offers_to_lay_out_are_refused(store: Store, household: UUID, monkeypatch: pytest.MonkeyPatch) -> None:
    a_child(store, household)
    keep(store, household, OFFERS, OFFER)
    monkeypatch.setattr("service.jobs.household.packets.packets_to_read.MOST_WAYS", 5)  # two breads and three fruits
    assert numbers(store, household) == {"bread-whole-wheat": 3, "bagel-plain": 3}
    keep(store, household, OFFERS, {**OFFER, "name": "the same again"})
    with refused(BadInput, match="Ask about fewer offers"):
        to_read(store, household)


def numbers(store: Store, household: UUID) -> dict[str, int]:
    return {one["food"]: one["lunches"] for one in to_read(store, household)}


def to_read(store: Store, household: UUID) -> list[Any]:
    with store.reading() as connection:
        return list(packets_to_read(connection, household, Asked(), date(2026, 12, 1))["to_read"])
