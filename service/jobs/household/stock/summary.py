"""The stock of a day: what is there, what ends first, what to move tonight, and what to use up in which offers."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from service.domain.errors import LunchError
from service.domain.messages import Message, message
from service.domain.stock.keeping import FREEZER
from service.domain.stock.lots import Lot, is_over
from service.domain.stock.moves import Keep, Move, moves_tonight
from service.jobs.household.records import Body
from service.jobs.household.settings import settings_of
from service.jobs.household.stock.amounts import amount_of, grams_of, portions_of
from service.jobs.household.stock.entries import lot_of, thawed_until, today
from service.jobs.household.stock.happened import entries_here
from service.jobs.household.stock.known_foods import KnownFoods
from service.reference.messages import json_of, say
from service.store.household.kinds import OFFER
from service.store.household.records import Connection, Record, page

SOON = timedelta(days=2)
"""What ends within so many days is to be used up. Ours: no source."""
MOST_OFFERS = 500
PLACES = ("fridge", "cupboard", "freezer")


def stock_summary(connection: Connection, household: UUID, on: date | None = None) -> Body:
    """All of it for a day, today where none is given.

    ``foods``: what there is of each; ``ends_first``: entries in the fridge or cupboard with a day, the soonest first;
    ``over``: those whose day is past; ``tonight``: what to move from the freezer; ``use_up``: what ends soon, with the
    stored offers that have it.
    """
    day = on or today()
    foods = KnownFoods(connection, household)
    entries = entries_here(connection, household)
    lots = [lot_of(one, foods) for one in entries]
    ending = sorted(
        (one for one in lots if one.place != FREEZER and one.use_by is not None),
        key=lambda one: (one.use_by or date.max, one.made_on, one.id),
    )
    over = [one for one in ending if is_over(one, day)]
    in_time = [one for one in ending if not is_over(one, day)]
    soon = [one for one in in_time if one.use_by is not None and one.use_by <= day + SOON]
    return {
        "on": day.isoformat(),
        "foods": _by_food(lots, foods, day),
        "ends_first": [_row(one, foods, day) for one in in_time],
        "over": [{**_row(one, foods, day), **_said(_over(one, foods))} for one in over],
        "tonight": _tonight(connection, household, entries, lots, foods, day),
        "use_up": _use_up(soon, _offers_by_food(connection, household) if soon else {}, foods, day),
    }


def _row(lot: Lot, foods: KnownFoods, on: date) -> Body:
    return {
        "id": lot.id,
        "food": lot.food,
        "name": foods.name(lot.food),
        "place": lot.place,
        "portions": portions_of(lot.amount_mg, lot.portion_mg),
        "grams": grams_of(lot.amount_mg),
        "use_by": None if lot.use_by is None else lot.use_by.isoformat(),
        "days_left": None if lot.use_by is None else (lot.use_by - on).days,
    }


def _by_food(lots: Iterable[Lot], foods: KnownFoods, on: date) -> list[Body]:
    by_food: dict[str, list[Lot]] = {}
    for lot in lots:
        by_food.setdefault(lot.food, []).append(lot)
    rows = []
    for food, of_food in by_food.items():
        days = [one.use_by for one in of_food if one.place != FREEZER and one.use_by is not None]
        rows.append(
            {
                "food": food,
                "name": foods.name(food),
                "portions": _portions(of_food),
                "grams": grams_of(sum(one.amount_mg for one in of_food)),
                "places": [
                    {"place": place, "portions": _portions([one for one in of_food if one.place == place])}
                    for place in PLACES
                    if any(one.place == place for one in of_food)
                ],
                "ends_first": min(days).isoformat() if days else None,
                "over": any(is_over(one, on) for one in of_food),
            }
        )
    return sorted(rows, key=lambda row: (str(row["name"]).lower(), row["food"]))


def _portions(lots: Iterable[Lot]) -> float:
    return round(sum(one.amount_mg / one.portion_mg for one in lots), 3)


def _tonight(
    connection: Connection,
    household: UUID,
    entries: Sequence[Record],
    lots: Sequence[Lot],
    foods: KnownFoods,
    on: date,
) -> list[Body]:
    keeps, wanted = [], {}
    for rule in settings_of(connection, household).keep_in_fridge:
        try:
            portion_mg = foods.food(rule.food).units[0].grams_mg
        except LunchError:  # an own food that was removed: nothing is to be kept of it
            continue
        of_food = [one.portion_mg for one in lots if one.food == rule.food]
        portion_mg = of_food[-1] if of_food else portion_mg
        keeps.append(Keep(rule.food, amount_of(rule.portions, portion_mg), foods.thaw_hours(rule.food)))
        wanted[rule.food] = rule.portions, portion_mg
    thawed = {
        str(one.id): thawed_until(one, foods, on)
        for one in entries
        if one.body["place"] == FREEZER and one.body["food"] in wanted
    }
    return [_move(one, *wanted[one.food], lots, foods) for one in moves_tonight(lots, keeps, on, thawed)]


def _move(move: Move, keep: float, portion_mg: int, lots: Sequence[Lot], foods: KnownFoods) -> Body:
    by_id = {one.id: one for one in lots}
    portions = round(sum(amount / by_id[lot].portion_mg for lot, amount in move.parts), 3)
    name, missing = foods.name(move.food), portions_of(move.short_mg, portion_mg)
    said: list[Message] = []
    if move.parts:
        said.append(message("stock.move-tonight", name=name, portions=portions, ready=move.ready_on.isoformat()))
    if move.left and move.short_mg:
        left = _portions(by_id[lot] for lot in move.left)
        said.append(message("stock.over-once-thawed", name=name, portions=left, ready=move.ready_on.isoformat()))
    if move.short_mg:
        said.append(message("stock.too-few-frozen", name=name, missing=missing, keep=keep))
    return {
        "food": move.food,
        "name": name,
        "portions": portions,
        "missing_portions": missing,
        "ready_on": move.ready_on.isoformat(),
        "thaw_hours": foods.thaw_hours(move.food),
        "from": [
            {"id": lot, "portions": portions_of(amount, by_id[lot].portion_mg), "grams": grams_of(amount)}
            for lot, amount in move.parts
        ],
        "sentences": [say(one) for one in said],
        "sentence_messages": json_of(said),
    }


def _use_up(soon: Sequence[Lot], offers: dict[str, list[dict[str, str]]], foods: KnownFoods, on: date) -> list[Body]:
    rows = []
    for lot in soon:
        assert lot.use_by is not None  # noqa: S101 - only those with a day end soon
        having = offers.get(lot.food, [])
        values: dict[str, Any] = {
            "name": foods.name(lot.food),
            "portions": portions_of(lot.amount_mg, lot.portion_mg),
            "day": lot.use_by.isoformat(),
        }
        said = (
            message("stock.use-up-in", **values, offers=[one["name"] for one in having])
            if having
            else message("stock.use-up", **values)
        )
        rows.append({**_row(lot, foods, on), "offers": having, **_said(said)})
    return rows


def _over(lot: Lot, foods: KnownFoods) -> Message:
    return message(
        "stock.over",
        name=foods.name(lot.food),
        portions=portions_of(lot.amount_mg, lot.portion_mg),
        day="" if lot.use_by is None else lot.use_by.isoformat(),
    )


def _said(one: Message) -> Body:
    return {"sentence": say(one), "sentence_message": json_of(one)}


def _offers_by_food(connection: Connection, household: UUID) -> dict[str, list[dict[str, str]]]:
    """Food -> the stored offers that have it, in the order they were stored."""
    found: dict[str, list[dict[str, str]]] = {}
    for record in page(connection, OFFER, household, None, MOST_OFFERS):
        named = {item["food"] for group in record.body["groups"] for item in group["items"] if _is_id(item["food"])}
        for food in sorted(named):
            found.setdefault(food, []).append({"id": str(record.id), "name": record.body["name"]})
    return found


def _is_id(food: object) -> bool:
    return isinstance(food, str)
