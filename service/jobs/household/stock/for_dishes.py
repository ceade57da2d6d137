"""What a dish that is made takes from the stock, and what it gives back when it was not made after all.

Of its ingredients those count that the stock has, or had; what nobody counts changes nothing. A dish in the dish that is not
counted takes what it is made of itself.
"""

from collections.abc import Collection, Iterator, Sequence
from datetime import date
from fractions import Fraction
from uuid import UUID

from service.jobs.household.stock.amounts import grams_of, mg_of
from service.jobs.household.stock.known_foods import KnownFoods
from service.jobs.household.stock.requests import UsedIngredient
from service.jobs.household.stock.taking import TakenFood, UsedBy, forms_of, give_back, take_wanted, took
from service.store.household.kinds import STOCK
from service.store.household.records import Connection, Record, find
from service.store.household.stock import events_of_entries, events_of_uses, hold_entries


def foods_in(dish: str, foods: KnownFoods) -> Collection[str]:
    """Every food that may be taken for a dish: what is in it, and what that is made of that may be at home instead."""
    return {form for part in _all_in(dish, foods) for form, _factor in forms_of(part)}


def use_for(
    connection: Connection,
    household: UUID,
    made: Record,
    amount_mg: int,
    held: dict[UUID, Record],
    foods: KnownFoods,
    day: date,
) -> list[TakenFood]:
    """Take what so much of a dish is made of; ``made``: its entry, ``held``: the entries of ``foods_in`` and maybe others."""
    counted = {one.body["food"] for one in held.values()}
    wanted: dict[str, Fraction] = {}
    for part, amount in _counted_in(made.body["food"], Fraction(amount_mg), counted, foods):
        wanted[part] = wanted.get(part, Fraction(0)) + amount
    whole = {part: round(amount) for part, amount in wanted.items()}
    return take_wanted(connection, household, whole, held, foods, day, UsedBy("used", made.id))


def kept_of(taken: Sequence[TakenFood]) -> list[UsedIngredient]:
    """What was taken, as it is kept with the event of making."""
    return [
        UsedIngredient(
            food=one.food, taken_grams=grams_of(one.wanted_mg - one.short_mg), short_grams=grams_of(one.short_mg)
        )
        for one in taken
    ]


def entries_used(connection: Connection, household: UUID, made: Collection[UUID]) -> set[UUID]:
    """The entries from which something was taken for what was made."""
    return {UUID(one.body["stock"]) for one in events_of_uses(connection, household, made)}


def give_back_for(connection: Connection, household: UUID, made: Sequence[Record], held: dict[UUID, Record]) -> None:
    """Put back what was taken for what was made: for as much of it as is left; ``held``: the ``entries_used``.

    What was eaten of it was made, so what went into that stays taken.
    """
    if not held:
        return
    events = events_of_entries(connection, household, [one.id for one in made])
    total = sum(mg_of(one.body["grams"]) for one in events if one.body["event"] == "made")
    left = sum(mg_of(one.body["grams"]) for one in made)
    if not total or not left:
        return
    share = min(Fraction(1), Fraction(left, total))
    happened = events_of_entries(connection, household, held)
    for entry_id in sorted(held):
        of_entry = [one for one in happened if one.body["stock"] == str(entry_id)]
        for dish in made:
            by = UsedBy("used", dish.id)
            back = round(took(of_entry, by).back_mg * share)
            if back > 0:
                held[entry_id] = give_back(connection, household, held[entry_id], back, by)


def not_made(connection: Connection, household: UUID, entry_id: UUID) -> None:
    """An entry that was added by mistake is removed: what was taken for it is put back."""
    used = entries_used(connection, household, [entry_id])
    entry = find(connection, STOCK, household, entry_id)
    if used and entry is not None:
        held = {one.id: one for one in hold_entries(connection, household, [], used)}
        give_back_for(connection, household, [entry], held)


def _all_in(dish: str, foods: KnownFoods) -> Iterator[str]:
    for part, _amount in foods.ingredients(dish, Fraction(1)):
        yield part
        yield from _all_in(part, foods)


def _counted_in(
    dish: str, amount_mg: Fraction, counted: Collection[str], foods: KnownFoods
) -> Iterator[tuple[str, Fraction]]:
    for part, amount in foods.ingredients(dish, amount_mg):
        if any(form in counted for form, _factor in forms_of(part)):
            yield part, amount
        else:
            yield from _counted_in(part, amount, counted, foods)
