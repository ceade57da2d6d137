"""What open plans leave at home for each other: so much of the stock is spoken for.

Of two plans that are not over, the one whose first school day comes first has what it needs of what is at home; of two that begin
on the same day, the one that was stored first. The later one sees what is left.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import NamedTuple
from uuid import UUID

from service.domain.errors import LunchError
from service.domain.messages import Message, message
from service.domain.plan.shopping import taken
from service.domain.stock.lots import Lot, take
from service.jobs.household.from_plan.needs import Row, asked_of, besides_batches, of_batches
from service.jobs.household.from_plan.planned import StoredPlan, plans_before
from service.jobs.household.from_plan.prep import line_of
from service.jobs.household.stock.amounts import mg_of
from service.jobs.household.stock.entries import lot_of, today
from service.jobs.household.stock.for_plans import brought_in
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.plan.shopping.resolve import resolve_shopping
from service.store.household.records import Connection, Record
from service.store.household.stock import entries_of, events_of_lunches, events_of_uses

Days = tuple[date, date]


class Claims(NamedTuple):
    """Milligrams of each entry of the stock that are spoken for; ``first``: the plans that do, ``unclear``: that fit no more."""

    by_entry: Mapping[str, int]
    first: Sequence[StoredPlan]
    unclear: Sequence[StoredPlan]

    def said(self) -> list[Message]:
        """What a person is told of the plans that come first."""
        return said_of_first(*(days_of(some) for some in (self.first, self.unclear)))


class AtHome(NamedTuple):
    """What counts as at home for a plan, and the plans that come before it and leave less (``Claims``)."""

    lots: list[Lot]
    first: Sequence[StoredPlan]
    unclear: Sequence[StoredPlan]


def said_of_first(first: Sequence[Days], unclear: Sequence[Days]) -> list[Message]:
    """A sentence for each plan that comes first, and for each of which that cannot be worked out; by first and last school day."""
    return [
        *(message("shopping.plan-first", first=one.isoformat(), last=last.isoformat()) for one, last in first),
        *(message("shopping.plan-unclear", first=one.isoformat(), last=last.isoformat()) for one, last in unclear),
    ]


def said_of_plans_before(connection: Connection, household: UUID, plan_id: str, first_day: date) -> list[Message]:
    """What is told of the plans that have what is at home before a stored plan whose first school day this is."""
    before = plans_before(connection, household, first_day, UUID(plan_id))
    return claims_of(connection, household, before, KnownFoods(connection, household)).said() if before else []


def days_of(plans: Iterable[StoredPlan]) -> list[Days]:
    """The first and the last school day of each plan."""
    return [(min(one.asked.days), max(one.asked.days)) for one in plans]


def at_home(connection: Connection, household: UUID, plan: StoredPlan) -> AtHome:
    """What is at home besides what came home for a plan, or for a later one, with what its lunches and batches took, less what earlier plans need.

    Dishes were counted when the batches were planned.
    """
    foods, entries = KnownFoods(connection, household), entries_of(connection, household)
    others = {day for one in plan.earlier for day in one.asked.days}
    gone = _taken_by_lunches(connection, household, lambda on: on >= plan.days()[0] and on not in others)
    _add(gone, _taken_by_batches(connection, household, plan, entries))
    claims = claims_of(connection, household, plan.earlier, foods, gone)
    lots = []
    for one, lot in _lots(entries, foods, plan.later):
        if one.body.get("plan") != plan.id and lot.food not in _dishes(plan):
            amount = lot.amount_mg + max(0, gone.get(lot.id, 0)) - claims.by_entry.get(lot.id, 0)
            if amount > 0:
                lots.append(lot._replace(amount_mg=amount))
    return AtHome(lots, claims.first, claims.unclear)


def claims_of(
    connection: Connection,
    household: UUID,
    plans: Sequence[StoredPlan],
    foods: KnownFoods,
    gone: Mapping[str, int] | None = None,
) -> Claims:
    """What some plans need of the stock, each after those before it; what their lunches took already is not needed any more.

    ``gone``: milligrams of each entry that the plan after them took: they count as there.
    """
    by_entry: dict[str, int] = {}
    first, unclear = [], []
    if plans:
        entries = entries_of(connection, household)
        for plan in plans:
            try:
                needed = _claimed(connection, household, plan, entries, by_entry, foods, gone or {})
            except LunchError:  # it was edited, or what it names was: its page says so
                unclear.append(plan)
                continue
            if any(needed.values()):
                first.append(plan)
            _add(by_entry, needed)
    return Claims(by_entry, first, unclear)


def _claimed(
    connection: Connection,
    household: UUID,
    plan: StoredPlan,
    entries: Sequence[Record],
    others: Mapping[str, int],
    foods: KnownFoods,
    back: Mapping[str, int],
) -> dict[str, int]:
    """What a plan still needs of each entry, of what the plans before it leave."""
    gone = _taken_by_lunches(connection, household, lambda on: on in plan.asked.days)
    lots = [
        lot._replace(
            amount_mg=max(0, lot.amount_mg + gone.get(lot.id, 0) + back.get(lot.id, 0) - others.get(lot.id, 0))
        )
        for _entry, lot in _lots(entries, foods, plan.later)
    ]
    made = brought_in(connection, household, plan.id)
    batches = [(line_of(row), need) for row, need in zip(plan.reply()["batches"], of_batches(plan), strict=True)]
    to_make = [need for line, need in batches if line not in made]
    needs = [*to_make, *besides_batches(plan)]
    used = (
        {}
        if not needs
        else _used(connection, household, plan, needs, [one for one in lots if one.food not in _dishes(plan)])
    )
    for food, amount in _of_dishes(plan, {line for line, _need in batches if line not in made}).items():
        for lot, part in take(lots, food, amount, today()).parts:
            used[lot] = used.get(lot, 0) + part
    return {lot: max(0, amount - gone.get(lot, 0)) for lot, amount in used.items()}


def _used(
    connection: Connection, household: UUID, plan: StoredPlan, needs: Sequence[Row], lots: Sequence[Lot]
) -> dict[str, int]:
    """Milligrams of each lot that go into the needs, as the plan's own list takes them."""
    there = [one for one in lots if one.amount_mg > 0]
    counted = asked_of(connection, household, plan, needs, there)
    made = resolve_shopping(counted.asked)
    before = [one.left_mg for one in made.lots]
    taken(made.wants, made.lots)
    found: dict[str, int] = {}
    for amount, one, (lot, share) in zip(before, made.lots, counted.shares, strict=True):
        found[lot.id] = found.get(lot.id, 0) + round((amount - one.left_mg) * share)
    return found


def _of_dishes(plan: StoredPlan, not_made: set[str]) -> dict[str, int]:
    """Milligrams of each dish that are eaten, less what is still to be made of it."""
    found: dict[str, int] = {}
    portion: dict[str, float] = {}
    for one in plan.reply()["needs"]:
        if one["dish"]:
            found[one["food"]] = found.get(one["food"], 0) + mg_of(one["grams"])
            portion[one["food"]] = one["grams"] / one["portions"]
    for one in plan.reply()["batches"]:
        if line_of(one) in not_made and one["food"] in found:
            found[one["food"]] -= mg_of(one["portions"] * portion[one["food"]])
    return {food: amount for food, amount in found.items() if amount > 0}


def _dishes(plan: StoredPlan) -> set[str]:
    return {one.food for one in plan.asked.dishes}


def _lots(entries: Sequence[Record], foods: KnownFoods, later: Collection[str]) -> Iterator[tuple[Record, Lot]]:
    """The entries whose food is known, as the engine takes them, without what came home for later plans."""
    for one in entries:
        if one.body.get("plan") not in later and foods.knows(one.body["food"]):
            yield one, lot_of(one, foods)


def _taken_by_lunches(connection: Connection, household: UUID, of_plan: Callable[[date], bool]) -> dict[str, int]:
    found: dict[str, int] = {}
    for event in events_of_lunches(connection, household):
        if of_plan(date.fromisoformat(event.body["on"])):
            _add(found, {event.body["stock"]: -mg_of(event.body["grams"])})
    return found


def _taken_by_batches(
    connection: Connection, household: UUID, plan: StoredPlan, entries: Sequence[Record]
) -> dict[str, int]:
    made = [one.id for one in entries if one.body.get("plan") == plan.id and one.body["made_on"] is not None]
    found: dict[str, int] = {}
    for event in events_of_uses(connection, household, made) if made else []:
        _add(found, {event.body["stock"]: -mg_of(event.body["grams"])})
    return found


def _add(to: dict[str, int], more: Mapping[str, int]) -> None:
    for entry, amount in more.items():
        to[entry] = to.get(entry, 0) + amount
