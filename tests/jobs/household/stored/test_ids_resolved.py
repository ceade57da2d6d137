"""Promise: a request with the ids of stored records is the same, once resolved, as one with everything sent along."""

from typing import Any
from uuid import UUID, uuid4

import pytest
from pydantic import BaseModel

from service.domain.errors import LunchError
from service.jobs.household.kinds import CHILDREN, FOODS, LUNCHES, OFFERS, RECIPES
from service.jobs.household.records import keep_record
from service.jobs.household.stored.stored_ids import with_ids_resolved
from service.jobs.offers.requests import OfferAuditRequest, OfferAuditWithIds
from service.jobs.requests.lunches import LunchCheckRequest, LunchCheckWithIds
from service.jobs.requests.screenings import ScreeningRequest, ScreeningWithIds
from service.jobs.weeks.requests import WeekRequest, WeekWithIds
from service.store.access.households import create_household
from service.store.database import Store
from tests.refused import refused

DAY = "2026-12-01"
AVOIDS = [{"allergen": "peanut"}]
CHILD = {"nickname": "Juniper", "standard": "us-school-lunch", "birth_month": "2018-03", "avoids": AVOIDS, "bans": ["sesame"], "dislikes": ["apple"]}  # fmt: skip
SENT_CHILD = {"nickname": "Juniper", "age_months": 104, "avoids": AVOIDS}
WITH_BANS = [*AVOIDS, {"allergen": "sesame", "threshold": "contains"}]
FOOD: dict[str, Any] = {"name": "oat bar", "serving": {"grams": 40}, "facts": {"energy_kcal": 170}, "contains": "Oats."}
RECIPE: dict[str, Any] = {"name": "crumble", "ingredients": [{"food": "OWN", "grams": 60}, {"food": "apple", "grams": 200}]}  # fmt: skip
OFFER: dict[str, Any] = {"groups": [{"id": "fruit", "items": [{"food": "apple"}, {"food": "banana"}]}, {"id": "bar", "items": [{"food": "OWN"}]}]}  # fmt: skip
LUNCH: dict[str, Any] = {"date": DAY, "kind": "packed", "items": [{"food": "OWN"}], "holding": {"insulated": True}}


class Kept:
    """A household with one of each, and its ids."""

    def __init__(self, store: Store) -> None:
        self.store = store
        with store.writing() as connection:
            self.household = create_household(connection, {})
            self.connection = connection
            self.child = self._keep(CHILDREN, CHILD)
            self.food = self._keep(FOODS, FOOD)
            self.recipe = self._keep(RECIPES, put(RECIPE, self.food))
            self.offer = self._keep(OFFERS, {"name": "mornings", **put(OFFER, self.food)})
            self.lunch = self._keep(LUNCHES, {"child": self.child, **put(LUNCH, self.food)})

    def _keep(self, resource: Any, body: Any) -> str:
        asked = resource.adapter.validate_python(body)
        return str(keep_record(self.connection, resource, self.household, asked, None).record.id)

    def resolved(self, asked: BaseModel, household: UUID | None = None) -> BaseModel:
        with self.store.reading() as connection:
            return with_ids_resolved(connection, household or self.household, asked)  # type: ignore[call-overload, no-any-return]


def put(part: Any, food: Any) -> Any:
    """A body with the own food, or its id, in the places marked OWN."""
    if isinstance(part, dict):
        return {name: put(value, food) for name, value in part.items()}
    if isinstance(part, list):
        return [put(one, food) for one in part]
    return food if part == "OWN" else part


@pytest.fixture
def kept(store: Store) -> Kept:
    return Kept(store)


def requests(kept: Kept) -> list[tuple[BaseModel, BaseModel]]:
    """Requests by ids, each with the same sent along."""
    dish = put(RECIPE, FOOD)
    check = {"on": DAY, "offer": [kept.food, "banana", {"food": kept.recipe}]}
    sent_check = {"on": DAY, "offer": [{"food": FOOD}, "banana", {"food": dish}]}
    day = {"date": DAY, "kind": "packed", "items": [{"food": kept.recipe}]}
    price = {"amount_minor": 100, "currency": "EUR", "pack_grams": 200, "from": DAY}
    week = {"week": "2026-W49", "prices": [{**price, "food": kept.food}], "days": [day]}
    sent_week = {
        "week": "2026-W49",
        "dislikes": ["apple"],
        "prices": [{**price, "food": "oat bar"}],
        "days": [{**day, "items": [{"food": dish}]}],
    }
    without = [{"group": "fruit", "item": "apple"}]
    standard, setting = {"standard": "us-school-lunch"}, {"setting": {"bans": ["sesame"]}}
    return [
        (
            LunchCheckWithIds.model_validate({**check, "child": kept.child, "lunch": kept.lunch}),
            LunchCheckRequest.model_validate({
                **sent_check, **standard, **setting, "child": SENT_CHILD,
                "lunch": {"items": [{"food": FOOD}], "holding": {"insulated": True}},
            }),
        ),
        (
            ScreeningWithIds.model_validate({
                "children": [kept.child, {"nickname": "guest"}],
                "items": [{"food": kept.recipe}, {"id": "b", "name": "box", "lunch": kept.lunch}],
            }),
            ScreeningRequest.model_validate({
                "children": [{"nickname": "Juniper", "avoids": WITH_BANS}, {"nickname": "guest"}],
                "items": [{"food": dish}, {"id": "b", "name": "box", "lunch": [{"food": FOOD}]}],
            }),
        ),
        (
            OfferAuditWithIds.model_validate({"on": DAY, "offer": kept.offer, "children": [kept.child], "swap_foods": [kept.food]}),
            OfferAuditRequest.model_validate({
                "on": DAY, "offer": put(OFFER, FOOD), "swap_foods": [{"food": FOOD}],
                "children": [{**SENT_CHILD, **standard, "avoids": WITH_BANS, "without": without}],
            }),
        ),
        (
            WeekWithIds.model_validate({**week, "child": kept.child}),
            WeekRequest.model_validate({**sent_week, **standard, **setting, "child": {**SENT_CHILD, "age_months": 103}}),
        ),
    ]  # fmt: skip


def test_a_request_by_ids_is_the_same_as_one_with_everything_sent_along(kept: Kept) -> None:
    """A lunch check, a screening, an audit, a week; a child born in March 2018 was 103 months old on 30 November 2026."""
    for asked, sent in requests(kept):
        found = kept.resolved(asked)
        assert type(found) is type(sent)
        skip = {"items": {"__all__": {"lunch": {"__all__": {"groups", "kind"}}}}}
        if isinstance(found, WeekRequest):  # a price stays that of the id: several own foods may share a name
            (price,) = found.prices
            assert price.food == kept.food
            price.food = sent.prices[0].food
        only_of_weeks = {"lunch": {"items": {"__all__": {"groups", "kind"}}}, **skip}
        assert found.model_dump(exclude=only_of_weeks, warnings=False) == sent.model_dump(exclude=only_of_weeks)


def test_what_a_request_gives_itself_goes_before_the_kept_childs(kept: Kept) -> None:
    """Its standard and its bans, even when it gives none of them."""
    asked = LunchCheckWithIds.model_validate(
        {
            "on": DAY,
            "child": kept.child,
            "lunch": kept.lunch,
            "standard": "gb-sct-school-lunch",
            "setting": {"bans": []},
        }
    )
    found = kept.resolved(asked)
    assert isinstance(found, LunchCheckRequest)
    assert (found.standard, found.setting.bans) == ("gb-sct-school-lunch", [])


def test_all_ids_that_are_not_here_are_reported_together(kept: Kept) -> None:
    """Each with its own place, once; those of another household too."""
    with kept.store.writing() as connection:
        other = create_household(connection, {})
    places = {
        0: {"/child", "/lunch", "/offer/0", "/offer/2/food"},
        1: {"/children/0", "/items/0/food", "/items/1/lunch"},
        2: {"/offer", "/children/0", "/swap_foods/0"},
        3: {"/child", "/prices/0/food", "/days/0/items/0/food"},
    }
    for number, (asked, _sent) in enumerate(requests(kept)):
        with pytest.raises(LunchError) as told:
            kept.resolved(asked, other)
        pointers = [fault.pointer for fault in told.value.faults()]
        assert sorted(pointers) == sorted(places[number])


def test_a_lunch_that_was_not_packed_cannot_be_checked(kept: Kept) -> None:
    """It has no items; the fault says so."""
    with kept.store.writing() as connection:
        asked = LUNCHES.adapter.validate_python({"child": kept.child, "date": "2026-12-02", "kind": "none"})
        lunch = str(keep_record(connection, LUNCHES, kept.household, asked, None).record.id)
    with refused(LunchError, match="is a lunch without items"):
        kept.resolved(LunchCheckWithIds.model_validate({"on": DAY, "child": kept.child, "lunch": lunch}))


@pytest.mark.parametrize(("model", "body", "pointer"), [
    (LunchCheckRequest, {"on": DAY, "standard": "x", "child": "ID", "lunch": {"items": [{"food": "apple"}]}}, "child"),
    (ScreeningRequest, {"children": [{"nickname": "a"}], "items": [{"lunch": "ID"}]}, "lunch"),
])  # fmt: skip
def test_without_a_household_an_id_is_refused_where_the_thing_itself_belongs(
    model: type[BaseModel], body: dict[str, Any], pointer: str
) -> None:
    """And the fault says that a household's key is missing."""
    from pydantic import ValidationError

    from service.jobs.request_faults import request_fault

    with pytest.raises(ValidationError) as told:
        model.model_validate(_with_id(body, str(uuid4())))
    (fault,) = [request_fault(error) for error in told.value.errors()]
    assert fault["pointer"].endswith("/" + pointer)
    assert fault["code"] == "kept-id"
    assert "household" in fault["problem"]
    assert "access key" in fault["remedy"]


def _with_id(part: Any, kept_id: str) -> Any:
    if isinstance(part, dict):
        return {name: _with_id(value, kept_id) for name, value in part.items()}
    if isinstance(part, list):
        return [_with_id(one, kept_id) for one in part]
    return kept_id if part == "ID" else part
