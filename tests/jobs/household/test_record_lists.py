"""Promise: what a front end reads of records it can use again: versions, ids of what is there, filters, the lunch of a day."""

import threading
from datetime import date
from typing import Any
from uuid import UUID

import orjson
import pytest

from service.domain.errors import AlreadyThere, BadInput, ManyFaults, RightMissing, StaleEdit
from service.domain.messages import message
from service.jobs.household.days.lunches import lunches_of, put_lunch_of_day
from service.jobs.household.kinds import CHILDREN, FOODS, LUNCHES, RESOURCES
from service.jobs.household.records import (
    Kept,
    edit_record,
    keep_record,
    list_records,
    of_ids,
    replace_record,
    show_record,
    shown,
)
from service.store.access.households import create_household
from service.store.database import Store
from tests.refused import refused

DAY = date(2026, 12, 1)
CHILD = {"nickname": "Juniper", "standard": "us-school-lunch", "birth_month": "2018-03"}


@pytest.fixture
def household(store: Store) -> UUID:
    with store.writing() as connection:
        return create_household(connection, {})


def keep(store: Store, household: UUID, resource: Any, body: dict[str, Any]) -> str:
    with store.writing() as connection:
        asked = resource.adapter.validate_json(orjson.dumps(body))
        return str(keep_record(connection, resource, household, asked, None).record.id)


def lunch(child: str, day: str = "2026-12-01", *foods: str) -> dict[str, Any]:
    return {"child": child, "date": day, "kind": "packed", "items": [{"food": one} for one in foods or ("apple",)]}


def anything(_version: int | None) -> None:
    """Any version will do."""


def test_a_list_says_the_version_of_each(store: Store, household: UUID) -> None:
    """The one that an edit has to name."""
    child = keep(store, household, CHILDREN, CHILD)
    for version in (1, 2):
        with store.writing() as connection:
            (item,) = list_records(connection, CHILDREN, household, 50, None)["items"]
            assert (item["id"], item["version"]) == (child, version)
            edit_record(connection, CHILDREN, household, child, anything, b'{"dislikes": ["leeks"]}', None)


def test_an_edit_that_changes_nothing_leaves_the_version(store: Store, household: UUID) -> None:
    """Sent whole or in part, of every field or of none; a real one raises it by one."""
    child = keep(store, household, CHILDREN, CHILD)
    food = keep(store, household, FOODS, {"name": "oat bar", "serving": {"grams": 40}})
    logged = keep(store, household, LUNCHES, lunch(child, "2026-12-01", food))
    for resource, one in ((CHILDREN, child), (FOODS, food), (LUNCHES, logged)):
        with store.writing() as connection:
            before = show_record(connection, resource, household, one)
            edit_record(connection, resource, household, one, anything, b"{}", None)
            replace_record(connection, resource, household, one, anything, orjson.dumps(shown(before)), None)
            assert show_record(connection, resource, household, one) == before
    with store.writing() as connection:
        edit_record(connection, CHILDREN, household, child, anything, b'{"dislikes": ["leeks"]}', None)
        assert show_record(connection, CHILDREN, household, child).version == 2


@pytest.mark.parametrize("name", RESOURCES)
def test_what_the_service_says_of_a_record_is_ignored_when_it_is_sent_back(name: str) -> None:
    """Of every kind: id, moments, version and what is computed are read and not kept; other fields are refused."""
    resource = RESOURCES[name]
    ignored = {"id", "created_at", "updated_at", "version", *resource.computed}
    sent = {name for name, field in resource.model.model_fields.items() if not field.exclude}
    told_otherwise = {"gs1_allergens"} if name == "packets" else set()  # taken, and answered among `allergens`
    assert set(resource.replacement.model_fields) - sent == ignored | told_otherwise
    assert set(resource.replacement.model_config) >= {"extra"}
    assert resource.replacement.model_config["extra"] == "forbid"


def test_a_lunch_of_a_day_that_has_one_names_it(store: Store, household: UUID) -> None:
    """So that a caller can edit it without looking for it; a child or food of the same name too."""
    child = keep(store, household, CHILDREN, CHILD)
    food = keep(store, household, FOODS, {"name": "oat bar", "serving": {"grams": 40}})
    logged = keep(store, household, LUNCHES, lunch(child))
    twice = [(CHILDREN, CHILD, child), (FOODS, {"name": "oat bar", "serving": {"grams": 1}}, food), (LUNCHES, lunch(child), logged)]  # fmt: skip
    for resource, body, there in twice:
        with refused(AlreadyThere, match=there) as told:
            keep(store, household, resource, body)
        assert told.value.existing_id == there


def test_a_record_renamed_to_what_another_is_called_names_that_one(store: Store, household: UUID) -> None:
    """As when it is made."""
    child = keep(store, household, CHILDREN, CHILD)
    other = keep(store, household, CHILDREN, {**CHILD, "nickname": "Rowan"})
    with pytest.raises(AlreadyThere) as told, store.writing() as connection:
        edit_record(connection, CHILDREN, household, other, anything, b'{"nickname": "Juniper"}', None)
    assert told.value.existing_id == child


def test_lists_by_ids_child_and_days(store: Store, household: UUID) -> None:
    """Each condition alone and together; what is not here is left out."""
    children = [keep(store, household, CHILDREN, {**CHILD, "nickname": name}) for name in ("Juniper", "Rowan")]
    days = ("2026-11-30", "2026-12-01", "2026-12-02")
    made = {(who, day): keep(store, household, LUNCHES, lunch(who, day)) for who in children for day in days}

    def listed(**given: Any) -> set[str]:
        with store.reading() as connection:
            found = list_records(connection, LUNCHES, household, 50, None, lunches_of(**given))
        return {one["id"] for one in found["items"]}

    assert listed() == set(made.values())
    assert listed(day=DAY) == {made[who, "2026-12-01"] for who in children}
    assert listed(child=children[0], day=DAY) == {made[children[0], "2026-12-01"]}
    assert listed(first=DAY) == {made[who, day] for who in children for day in days[1:]}
    assert listed(last=DAY, child=children[1]) == {made[children[1], day] for day in days[:2]}
    assert listed(first=DAY, last=DAY, week="2026-W49") == listed(day=DAY)
    with refused(BadInput, match="is before from"):
        lunches_of(first=DAY, last=date(2026, 11, 30))
    with store.reading() as connection:
        some = [children[1], made[children[0], "2026-12-01"], "no id", "0198aaaa-aaaa-7aaa-8aaa-aaaaaaaaaaaa"]
        found = list_records(connection, CHILDREN, household, 50, None, of_ids(CHILDREN, some))
    assert [one["id"] for one in found["items"]] == [children[1]]


def test_the_lunch_of_a_day_is_put_in_its_place(store: Store, household: UUID) -> None:
    """Made where there is none, replaced where there is one; the version is looked at, None where there is none."""
    child = keep(store, household, CHILDREN, CHILD)
    seen: list[int | None] = []

    def put(*foods: str, matches: Any = seen.append, **more: Any) -> Kept:
        asked = LUNCHES.model.model_validate(lunch(child, "2026-12-01", *foods))
        with store.writing() as connection:
            return put_lunch_of_day(connection, household, child, DAY, asked, matches, **more)  # type: ignore[arg-type]

    first, second, third = put("apple"), put("banana"), put("banana")
    assert [one.created for one in (first, second, third)] == [True, False, False]
    assert [one.record.version for one in (first, second, third)] == [1, 2, 2]
    assert seen == [None, 1, 2]
    assert first.record.id == second.record.id
    assert second.extra_reply is not None
    assert second.extra_reply["check"]["verdict"] == second.record.body["found"]["verdict"]

    def stale(_version: int | None) -> None:
        raise StaleEdit(pointer="/version", value="7", problem=message("fault.other-version", version=8))

    with pytest.raises(StaleEdit):
        put("apple", matches=stale)
    with pytest.raises(RightMissing):
        put("apple", days=(date(2026, 12, 2), date(2026, 12, 3)))
    other = keep(store, household, CHILDREN, {**CHILD, "nickname": "Rowan"})
    asked = LUNCHES.model.model_validate(lunch(child, "2026-12-02"))
    with refused(ManyFaults, match="is not that of the address") as told, store.writing() as connection:
        put_lunch_of_day(connection, household, other, DAY, asked, anything)  # type: ignore[arg-type]
    assert [fault.pointer for fault in told.value.faults()] == ["/child", "/date"]


def test_of_several_lunches_put_at_once_each_is_made_or_told_of_the_other(store: Store, household: UUID) -> None:
    """Six at once: one lunch is there, and whoever came late was given its id or replaced it."""
    child = keep(store, household, CHILDREN, CHILD)
    start = threading.Barrier(6)
    outcomes: list[str] = []

    def put(food: str) -> None:
        asked = LUNCHES.model.model_validate(lunch(child, "2026-12-01", food))
        start.wait()
        try:
            with store.writing() as connection:
                kept = put_lunch_of_day(connection, household, child, DAY, asked, anything)  # type: ignore[arg-type]
            outcomes.append(str(kept.record.id))
        except AlreadyThere as fault:
            outcomes.append(str(fault.existing_id))
        except StaleEdit:
            outcomes.append("stale")

    foods = ("apple", "banana", "milk-skim", "bread-white", "carrots-baby-raw", "cheese-cheddar")
    workers = [threading.Thread(target=put, args=(food,)) for food in foods]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    with store.reading() as connection:
        (there,) = list_records(connection, LUNCHES, household, 50, None)["items"]
    assert len(outcomes) == 6
    assert set(outcomes) - {"stale"} == {there["id"]}
