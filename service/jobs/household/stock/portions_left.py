"""How much is left of what an offer holds, of the foods that a household counts in its stock.

A food is counted that has an entry with something in it, or one that was used up lately. What a household does not count may
be there or not: nothing is said of it.
"""

from collections.abc import Collection, Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any
from uuid import UUID

from service.domain.errors import LunchError
from service.domain.messages import Message, message
from service.domain.offers.most_taken import most_taken, most_times
from service.domain.offers.taking import Key
from service.domain.stock.lots import in_order
from service.jobs.household.stock.amounts import CRUMB_MG
from service.jobs.household.stock.entries import lot_of
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.household.stored.resolving import Resolving
from service.jobs.offers.requests import OfferAuditWithIds, item_key
from service.reference.messages import json_of
from service.store.household.kinds import CHILD, OFFER
from service.store.household.lunches import lunch_of_day
from service.store.household.records import Connection, page
from service.store.household.school_days import school_day_of
from service.store.household.stock import entries_of

if TYPE_CHECKING:
    from service.jobs.offers.layout import ChildOffer

LATELY = timedelta(days=14)
"""A food of which nothing is left for longer is not counted any more; ours."""
MOST_CHILDREN = 30
Reply = dict[str, Any]


def left_of(connection: Connection, household: UUID, foods: Collection[str], on: date) -> dict[str, int]:
    """Milligrams that may be packed on a day of each food that is counted; the others are left out."""
    since = counted_since()
    entries = [
        one
        for one in entries_of(connection, household, foods)
        if one.body["grams"] > 0 or one.updated_at.replace(tzinfo=UTC) >= since
    ]
    known = KnownFoods(connection, household)
    lots = [lot_of(one, known) for one in entries]
    return {food: sum(lot.amount_mg for lot in in_order(lots, food, on)) for food in {lot.food for lot in lots}}


def counted_since() -> datetime:
    """From when on a food that was used up is still counted: the start of a day, in UTC."""
    return datetime.combine(datetime.now(UTC).date() - LATELY, time(), UTC)


def is_enough(left_mg: int, wanted_mg: int) -> bool:
    """Whether so much is left, but for a crumb."""
    return left_mg + CRUMB_MG > wanted_mg


def portions_in(left_mg: int, portion_mg: int) -> int:
    """How many whole portions so much is, but for a crumb."""
    return (left_mg + CRUMB_MG - 1) // max(1, portion_mg)


def too_few_portions(
    connection: Connection, household: UUID, offer_id: str, on: date, set_out: Mapping[date, str]
) -> list[Reply]:
    """The foods of an offer of which there is less than its children could take in a week, each with what to say of it (``sentence_message``).

    A food in several groups is counted for all of them together, and as often as it may be taken again.

    ``set_out``: the offer of each day to come. The week is that of the first day on which this offer is set out, from ``on``
    to the last day in it. Children who buy, or whose lunch is logged, take none. Empty where the offer is not set out, or
    cannot be audited: its page says why.
    """
    days = sorted(day for day, offer in set_out.items() if offer == offer_id and day >= on)
    days = [day for day in days if day.isocalendar()[:2] == days[0].isocalendar()[:2]]
    body = KeptThings(connection, household).body(OFFER, offer_id, "/offer")
    foods = {item["food"] for group in body["groups"] for item in group["items"] if isinstance(item["food"], str)}
    left = left_of(connection, household, foods, on) if days else {}
    waiting = _waiting(connection, household, days) if left else {}
    children = list(dict.fromkeys(child for some in waiting.values() for child in some))
    if not children:
        return []
    try:
        made = _laid_out(connection, household, offer_id, children, on)
    except LunchError:
        return []
    keys: dict[str, list[Key]] = {}
    for group in body["groups"]:
        for item in group["items"]:
            if item["food"] in left:
                keys.setdefault(item["food"], []).append((group["id"], item_key(item["key"], item["food"])))
    rows = []
    for food, places in keys.items():
        most = {child: _most_taken(one, places) for child, one in made.items()}
        wanted = {day: sum(most[child] for child in some) for day, some in waiting.items()}
        number = sum(mg > 0 for mg in most.values())
        if number and not is_enough(left[food], sum(wanted.values())):
            prepared = next(iter(made.values())).items[places[0]]
            portions = portions_in(left[food], prepared.amount_mg)
            last = max(day for day, mg in wanted.items() if mg)
            again = any(most_times(one.offer, group) > 1 for one in made.values() for group, _item in places)
            said = _said(prepared.food.name, portions, number, last, places, again=again)
            rows.append({"food": food, "portions": portions, "sentence_message": json_of(said)})
    return rows


def _most_taken(child: "ChildOffer", places: Sequence[Key]) -> int:
    """Milligrams of a food that a child could take in one lunch; ``places``: the items that are this food."""
    return most_taken(child.offer, {key: child.items[key].amount_mg for key in places if key in child.items})


def _said(name: str, portions: int, children: int, last: date, places: Sequence[Key], *, again: bool) -> Message:
    """``again``: a child may take it again from one group."""
    values: Any = {"name": name, "n": children, "day": last.isoformat()}
    groups = len({group for group, _item in places})
    if not portions:
        return message("stock.none-left", **values)
    if groups > 1:
        return message("stock.left-for-several", **values, portions=portions, groups=groups)
    if again:
        return message("stock.left-for-again", **values, portions=portions)
    return message("stock.left-for", **values, portions=portions)


def _waiting(connection: Connection, household: UUID, days: Sequence[date]) -> dict[date, list[str]]:
    """Who has not taken or bought on each of some days."""
    children = [one.id for one in page(connection, CHILD, household, None, MOST_CHILDREN)]
    found = {}
    for day in days:
        there = school_day_of(connection, household, day)
        buys = [] if there is None else there.body.get("buys", [])
        found[day] = [
            str(one)
            for one in children
            if str(one) not in buys and lunch_of_day(connection, household, one, day) is None
        ]
    return found


def _laid_out(
    connection: Connection, household: UUID, offer_id: str, children: Sequence[str], on: date
) -> dict[str, "ChildOffer"]:
    """The offer as it stands for each child, by its id."""
    from service.jobs.offers.resolve import resolve_audit  # with its arrays: slow to load, and few pages need it

    resolving = Resolving(KeptThings(connection, household))
    audit = resolving.audit(OfferAuditWithIds(on=on, offer=offer_id, children=list(children), swap_foods=[]))
    resolving.raise_faults()
    return dict(zip(children, resolve_audit(audit).children, strict=True))
