"""What each kind of household record has of its own: its form, what is looked at before it is kept, what may name it."""

from datetime import date
from typing import Any
from uuid import UUID

import orjson
from pydantic import TypeAdapter

from service.domain.errors import LunchError, at, raise_all
from service.domain.offers.offer import check_offer
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.foods.resolve import food_by_id
from service.jobs.household.records import Ready, Resource
from service.jobs.household.requests import (
    KeptChild,
    KeptFood,
    KeptOffer,
    KeptPrice,
    KeptRecipe,
    LoggedLunch,
    is_kept_id,
)
from service.jobs.household.stored_ids import KeptThings
from service.jobs.lunch.targets import standard_for_lunch
from service.jobs.offers.requests import OfferIn
from service.jobs.requests import Asked, Recipe
from service.store import kinds
from service.store.records import Connection

Body = dict[str, Any]
SO_LONG = 160


def body_of(asked: Asked) -> Body:
    """What is kept of a request: all of its fields."""
    return asked.model_dump(mode="json", by_alias=True)


def _child(_connection: Connection, _household: UUID, asked: KeptChild, _before: Body | None) -> Ready:
    """Its standard, age group and allergens are known."""
    faults: list[LunchError] = []
    try:
        known = standard_for_lunch(asked.standard)
        if asked.age_group is not None:
            known.group(asked.age_group)
    except LunchError as fault:
        faults.append(_out_of(fault, "/child"))
    try:
        avoidances_of(asked.child_on(date.today()), asked.setting())  # noqa: DTZ011 - the age plays no part
    except LunchError as fault:
        faults += [_out_of(one, "/child", "/setting") for one in fault.faults()]
    raise_all(faults)
    return Ready(body_of(asked), {"name": asked.nickname})


def _food(_connection: Connection, _household: UUID, asked: KeptFood, _before: Body | None) -> Ready:
    """Its label can be read."""
    from service.jobs.foods.from_label import food_of_label

    food_of_label(asked)
    return Ready(body_of(asked), {"name": asked.name})


def _recipe(connection: Connection, household: UUID, asked: KeptRecipe, _before: Body | None) -> Ready:
    """Its ingredients are known and make a dish."""
    from service.jobs.foods.from_recipe import food_of_recipe
    from service.jobs.foods.resolve import food_of

    body = body_of(asked)
    written_out = KeptThings(connection, household, "share").recipe(body, "")
    food_of_recipe(Recipe.model_validate_json(orjson.dumps(written_out)), food_of)
    return Ready(body, {"name": asked.name})


def _offer(connection: Connection, household: UUID, asked: KeptOffer, _before: Body | None) -> Ready:
    """Its foods are known and its rules speak of groups and items it has."""
    from service.jobs.offers.layout import offer_of, offered_items

    body = body_of(asked)
    written_out = KeptThings(connection, household, "share").written_out({n: v for n, v in body.items() if n != "name"})
    offer = OfferIn.model_validate_json(orjson.dumps(written_out))
    try:
        offered_items(offer, "")
        check_offer(offer_of(offer))
    except LunchError as fault:
        raise _out_of(fault, "/offer") from None
    return Ready(body, {"name": asked.name})


def _price(connection: Connection, household: UUID, asked: KeptPrice, _before: Body | None) -> Ready:
    """Its food is known."""
    if asked.food is not None:
        if is_kept_id(asked.food):
            KeptThings(connection, household, "share").food(asked.food, "/food")
        else:
            with at("food"):
                food_by_id(asked.food)
    return Ready(body_of(asked), {"what": asked.of_what()[:SO_LONG], "from_day": asked.from_day})


def _lunch(connection: Connection, household: UUID, asked: LoggedLunch, before: Body | None) -> Ready:
    """It is checked and screened for its child."""
    from service.jobs.household.log_lunch import found_in_lunch

    found, beside = found_in_lunch(connection, household, asked, before)
    columns = {"child_id": UUID(asked.child), "day": asked.date, "kind": asked.kind}
    return Ready({**body_of(asked), "found": found}, columns, beside)


def _out_of(fault: LunchError, *outer: str) -> LunchError:
    """The fault as seen from the record: what a check calls ``/child`` is the record itself."""
    for one in fault.faults():
        for prefix in outer:
            if one.pointer.startswith(prefix + "/"):
                one.pointer = one.pointer.removeprefix(prefix)
                break
        one.args = (one.sentence(),)
    return fault


def _day_of(body: Body) -> date:
    return date.fromisoformat(body["date"])


CHILDREN = Resource(kinds.CHILD, TypeAdapter(KeptChild), _child)
FOODS = Resource(
    kinds.FOOD, TypeAdapter(KeptFood), _food, needed_by=(kinds.RECIPE, kinds.OFFER, kinds.PRICE, kinds.LUNCH)
)
RECIPES = Resource(kinds.RECIPE, TypeAdapter(KeptRecipe), _recipe, needed_by=(kinds.OFFER, kinds.PRICE, kinds.LUNCH))
OFFERS = Resource(kinds.OFFER, TypeAdapter(KeptOffer), _offer, needed_by=(kinds.LUNCH,))
PRICES = Resource(kinds.PRICE, TypeAdapter(KeptPrice), _price)
LUNCHES = Resource(kinds.LUNCH, TypeAdapter(LoggedLunch), _lunch, day_of=_day_of, computed=frozenset({"found"}))
