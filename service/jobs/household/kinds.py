"""The kinds of records that a household stores, and all that each has of its own. This is the one place that says so.

A field more is a field with a default in its model (``requests.py``): lists, exports and their CSV columns follow. A kind
more is its table with a migration, its ``Kind`` in the store, its model, and an entry here.
"""

from datetime import date
from uuid import UUID

from service.domain.errors import BadInput, Faults, NoneOfThem, NotThere, at, pointer_of
from service.domain.messages import message
from service.domain.offers.offer import check_offer
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.allergens.reply import not_read_caution
from service.jobs.foods.by_id import food_by_id
from service.jobs.household.children.without_child import forget_in_plans
from service.jobs.household.lunch.log_lunch import found_in_lunch
from service.jobs.household.records import Beside, Body, Looked, Record, Resource
from service.jobs.household.requests import (
    KeptChild,
    KeptFood,
    KeptLunch,
    KeptOffer,
    KeptPacket,
    KeptPlan,
    KeptPrice,
    KeptRecipe,
    KeptSchoolDay,
    LoggedLunch,
    meal_of,
    see_born,
)
from service.jobs.household.settings import forget_in_fridge
from service.jobs.household.stock.entries import SHOWN_WITH_ENTRY, look_over_entry, today
from service.jobs.household.stock.events import columns_of_event, first_event
from service.jobs.household.stock.for_dishes import not_made
from service.jobs.household.stock.for_lunches import settle_lunch
from service.jobs.household.stock.requests import KeptStockEntry, KeptStockEvent, StockEntry
from service.jobs.household.stored.child_standard import check_standards
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import Resolving, foods_resolved
from service.jobs.household.whole_bodies import whole_body
from service.jobs.offers.requests import A_NICKNAME
from service.jobs.requests.fields import is_kept_id
from service.reference.foods.catalogue import find_food
from service.reference.messages import listed_as
from service.store.household import kinds
from service.store.household.offers import forget_portions
from service.store.household.prices import prices_of
from service.store.household.records import Connection, forget_in, get, remove
from service.store.household.stock import forget_lunches_of
from service.store.kept_replies import forget_replies_naming
from service.store.tables import MADE_WHOLE

LONGEST_WHAT = 160
"""Characters of the column that says what a price is of."""


def _child(_connection: Connection, _household: UUID, asked: KeptChild, _before: Body | None) -> Looked:
    """Its standard, age group and allergens are known, and it is born."""
    faults = Faults()
    with faults.at("birth_month"):
        see_born(asked.birth_month, today())
    with faults.at():
        check_standards(asked)
    with faults.at():
        avoidances_of(asked, asked.setting(), (), ())
    faults.raise_all()
    return Looked()


def _food(_connection: Connection, _household: UUID, asked: KeptFood, _before: Body | None) -> Looked:
    """Its label can be read."""
    from service.jobs.foods.from_label import food_of_label

    food_of_label(asked)
    return Looked()


def _recipe(connection: Connection, household: UUID, asked: KeptRecipe, _before: Body | None) -> Looked:
    """Its ingredients are known and make a dish."""
    from service.jobs.foods.from_recipe import food_of_recipe
    from service.jobs.foods.resolve import food_of

    food_of_recipe(foods_resolved(KeptThings(connection, household, "share"), asked), food_of)
    return Looked()


def _offer(connection: Connection, household: UUID, asked: KeptOffer, _before: Body | None) -> Looked:
    """Its foods are known, its rules speak of groups and items it has, and its portions of children who are here."""
    from service.jobs.offers.layout import offer_of, offered_items
    from service.jobs.offers.portions import in_own_amounts, own_amounts, portions_of, refuse_wrong_portions

    kept, faults = KeptThings(connection, household, "share"), Faults()
    offer = foods_resolved(kept, asked)
    items = offered_items(offer, "")
    check_offer(offer_of(offer))
    for place, child in portions_of(offer):
        with faults.at():
            if not is_kept_id(child):
                raise BadInput(field=place, value=A_NICKNAME, problem=message("fault.portion-of-no-stored-child"))
            kept.body(kinds.CHILD, child, pointer_of(place))
    with faults.at():
        refuse_wrong_portions(offer)
    for child in dict.fromkeys(child for _place, child in portions_of(offer)):
        with faults.at():
            in_own_amounts(items, own_amounts(offer, child), "")
    if len(faults.found) > 1 and all(isinstance(one, NotThere) for one in faults.found):
        raise NoneOfThem(faults.found)
    faults.raise_all()
    return Looked()


def _packet(connection: Connection, household: UUID, asked: KeptPacket, _before: Body | None) -> Looked:
    """Its food and the allergens ticked are known."""
    from service.jobs.foods.from_label import see_possible
    from service.jobs.foods.packets import resolve_packet

    faults = Faults()
    if is_kept_id(asked.food):
        with faults.at():
            KeptThings(connection, household, "share").food(asked.food, "/food", recipes=False)
    with faults.at():
        resolve_packet(asked)
    if asked.facts is not None:
        serving = asked.serving
        size = 100.0 if serving is None else serving.grams or serving.ml or 0.0
        see_possible(asked.facts, size, serving is None or serving.ml is None, faults)
    faults.raise_all()
    return Looked()


def _not_read(connection: Connection, household: UUID, body: Body) -> Body:
    """That a text of a packet could not be read, and what to do; worked out anew, since words are added over time."""
    from service.jobs.foods.packets import statement_not_read

    packet = KeptPacket.model_validate(body)
    seen = statement_not_read(packet)
    if seen is None:
        return listed_as("caution", [])
    if is_kept_id(packet.food):
        name = KeptThings(connection, household).food(packet.food, "/food").name
    else:
        known = find_food(packet.food)
        name = packet.food if known is None else known.name
    return listed_as("caution", [not_read_caution(name, seen)])


def _price(connection: Connection, household: UUID, asked: KeptPrice, _before: Body | None) -> Looked:
    """Its food is known, or the child that pays it is here."""
    if asked.child is not None:
        KeptThings(connection, household, "share").body(kinds.CHILD, asked.child, "/child")
    if asked.food is not None:
        if is_kept_id(asked.food):
            KeptThings(connection, household, "share").food(asked.food, "/food")
        else:
            with at("food"):
                food_by_id(asked.food)
    return Looked()


def _lunch(connection: Connection, household: UUID, asked: LoggedLunch, before: Body | None) -> Looked:
    """It is checked and screened for its child."""
    computed, extra_reply = found_in_lunch(connection, household, asked, before)
    return Looked(computed, extra_reply)


def _first_event(connection: Connection, household: UUID, before: Record | None, after: Record | None) -> Body:
    """An entry of the stock begins with an event."""
    if before is None and after is not None:
        first_event(connection, household, after)
    return {}


def _event(connection: Connection, household: UUID, asked: KeptStockEvent, _before: Body | None) -> Looked:
    """Its entry is here."""
    KeptThings(connection, household, "share").body(kinds.STOCK, asked.stock, "/stock")
    return Looked()


def _school_day(connection: Connection, household: UUID, asked: KeptSchoolDay, _before: Body | None) -> Looked:
    """Its offer and the children who buy are here."""
    kept, faults = KeptThings(connection, household, "share"), Faults()
    if asked.offer is not None:
        with faults.at():
            kept.body(kinds.OFFER, asked.offer, "/offer")
    for place, child in enumerate(asked.buys):
        with faults.at():
            kept.body(kinds.CHILD, child, f"/buys/{place}")
    if len(faults.found) > 1:
        raise NoneOfThem(faults.found)
    faults.raise_all()
    return Looked()


def _plan(connection: Connection, household: UUID, asked: KeptPlan, _before: Body | None) -> Looked:
    """The children, offers and foods that it names by id are here."""
    resolving = Resolving(KeptThings(connection, household, "share"))
    resolving.plan(asked.asked)
    resolving.raise_faults()
    return Looked()


def _named(asked: KeptFood | KeptRecipe | KeptOffer | KeptPlan) -> Body:
    return {"name": asked.name}


def _forget_child(connection: Connection, household: UUID, child: UUID) -> None:
    """A child that goes buys on no day, has no price or amount of its own, is in no plan, and its lunches took what they took unnamed."""
    nickname = get(connection, kinds.CHILD, household, child).body["nickname"]
    forget_in(connection, kinds.SCHOOL_DAY, household, "buys", child)
    for price in prices_of(connection, household, meal_of(child)):
        remove(connection, kinds.PRICE, household, price)
        forget_replies_naming(connection, household, [price])
    forget_portions(connection, household, child)
    forget_in_plans(connection, household, child, nickname)
    forget_lunches_of(connection, household, child)


def _forget_food(connection: Connection, household: UUID, food: UUID) -> None:
    """A food or dish that goes is disliked by no child, and not always to be in the fridge."""
    forget_in(connection, kinds.CHILD, household, "dislikes", food)
    forget_in_fridge(connection, household, food)


CHILDREN = Resource(
    kinds.CHILD,
    KeptChild,
    lambda child: {"name": child.nickname},
    _child,
    retired=frozenset({"appetite"}),
    forget=_forget_child,
)
FOODS = Resource(
    kinds.FOOD,
    KeptFood,
    _named,
    _food,
    needed_by=(kinds.PACKET, kinds.RECIPE, kinds.OFFER, kinds.PRICE, kinds.LUNCH, kinds.STOCK, kinds.PLAN),
    forget=_forget_food,
)
PACKETS = Resource(
    kinds.PACKET,
    KeptPacket,
    lambda packet: {"food": packet.food, "read_on": packet.read_on},
    _packet,
    beside=Beside(("cautions", "caution_messages"), _not_read),
)
RECIPES = Resource(
    kinds.RECIPE,
    KeptRecipe,
    _named,
    _recipe,
    needed_by=(kinds.OFFER, kinds.PRICE, kinds.LUNCH, kinds.STOCK, kinds.PLAN),
    forget=_forget_food,
)
OFFERS = Resource(kinds.OFFER, KeptOffer, _named, _offer, needed_by=(kinds.LUNCH, kinds.SCHOOL_DAY, kinds.PLAN))
PRICES = Resource(
    kinds.PRICE,
    KeptPrice,
    lambda price: {"what": price.of_what()[:LONGEST_WHAT], "from_day": price.from_day},
    _price,
)
LUNCHES = Resource(
    kinds.LUNCH,
    LoggedLunch,
    lambda lunch: {"child_id": UUID(lunch.child), "day": lunch.date, "kind": lunch.kind},
    _lunch,
    kept=KeptLunch,
    day_of=lambda body: date.fromisoformat(body["date"]),
    settle=settle_lunch,
)

SCHOOL_DAYS = Resource(kinds.SCHOOL_DAY, KeptSchoolDay, lambda day: {"day": day.date}, _school_day)
STOCK = Resource(
    kinds.STOCK,
    StockEntry,
    lambda entry: {"food": entry.food},
    look_over_entry,
    kept=KeptStockEntry,
    beside=SHOWN_WITH_ENTRY,
    forget=not_made,
    settle=_first_event,
)
STOCK_EVENTS = Resource(
    kinds.STOCK_EVENT, KeptStockEvent, lambda event: columns_of_event(event.model_dump(mode="json")), _event
)

PLANS = Resource(kinds.PLAN, KeptPlan, _named, _plan)

RESOURCES = {
    one.collection: one
    for one in (CHILDREN, FOODS, PACKETS, RECIPES, OFFERS, PRICES, LUNCHES, SCHOOL_DAYS, STOCK, STOCK_EVENTS, PLANS)
}
"""By the name of their collection, in the order in which one can belong to another."""

MADE_WHOLE.update({name: whole_body(one.kept_model) for name, one in RESOURCES.items()})
