"""The shopping list: what is wanted less what is there, as bought, in packs, by day of shopping and kind of food."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from fractions import Fraction
from math import ceil
from typing import Any, NamedTuple

from service.domain.cautions import CAUTIONS
from service.domain.foods.food import Food
from service.domain.messages import Message, message
from service.domain.plan.packs import Packed, cheapest
from service.domain.plan.shopping import Bought, Missing, gathered, taken
from service.domain.plan.shopping_days import Wanted, bought_on, shopping_days
from service.domain.weeks.cost import NotCounted
from service.jobs.allergens.reply import not_read_cautions
from service.jobs.foods.packets import packet_id
from service.jobs.plan.kitchen.resolve import Eater, eaters_at, spoken_of
from service.jobs.plan.kitchen.words import NOT_COUNTED
from service.jobs.plan.shopping.cost import cost_row, not_counted_in, spent_on
from service.jobs.plan.shopping.requests import ShoppingListRequest
from service.jobs.plan.shopping.resolve import Shopping, resolve_shopping
from service.jobs.weeks.cost_rows import not_counted_messages
from service.reference.messages import listed_as, worded
from service.reference.plan.buying import Keeps, keeps_from_shopping

Reply = dict[str, Any]


class Fresh(NamedTuple):
    """How long what is missing keeps, and the day on which it is bought; ``late``: it is older on its day than it keeps."""

    keeps: Keeps | None
    on: date
    late: bool


def shopping_list(asked: ShoppingListRequest) -> Reply:
    """What to buy on which day, with packs, cost, packets to read and whom a food is not for.

    Raises ``LunchError`` for what does not fit, all faults together. Money is in whole minor units, weight in grams.
    """
    made = resolve_shopping(asked)
    missing, used = taken(made.wants, made.lots)
    fresh = _fresh(asked, made, missing)
    rows = gathered(missing, lambda key: made.bought(key)[:2], {place: one.on for place, one in enumerate(fresh)})
    by_missing = {id(one): fresh[place] for place, one in enumerate(missing)}
    lines = [_line(made, day, row, by_missing) for (day, _key), row in sorted(rows.items(), key=lambda one: one[0])]
    to_pay = sum((Fraction(one["cost_minor"]) for one in lines if one["cost_minor"] is not None), Fraction(0))
    foods = [made.foods[key] for key in made.foods]
    spent = spent_on(made)
    not_counted = not_counted_in(made, spent)
    return {
        "shop_on": asked.shop_on.isoformat(),
        "days": [_day(day, [one for one in lines if one["shop_on"] == day]) for day in _in_order(lines)],
        "taken": [{"food": key, "name": made.foods[key].name, "grams": _grams(amount)} for key, amount in used.items()],
        "unpriced": sorted({one["name"] for one in lines if one["cost_minor"] is None}) if made.shelf.currency else [],
        "packets_to_read": _packets(lines),
        "must_not": list(_must_not(asked, made)),
        "cost": cost_row(made, spent, not_counted, to_pay),
        **listed_as("note", list(_notes(asked, made, lines, not_counted))),
        **listed_as("caution", [*CAUTIONS, *not_read_cautions(foods)]),
    }


def _fresh(asked: ShoppingListRequest, made: Shopping, missing: Sequence[Missing]) -> list[Fresh]:
    """For each piece that is missing the day on which it is bought."""
    regions = tuple(asked.regions)
    keeps = [keeps_from_shopping(_storage(made, one), regions) for one in missing]
    wanted = [
        Wanted(one.want.there_by, None if kept is None else kept.days) for one, kept in zip(missing, keeps, strict=True)
    ]
    days = shopping_days(wanted, asked.shop_on, asked.also_on)
    found = []
    for one, kept in zip(wanted, keeps, strict=True):
        on, in_time = bought_on(one, days)
        found.append(Fresh(kept, on, not in_time))
    return found


def _storage(made: Shopping, one: Missing) -> str:
    """The storage class of a food as it is bought; empty where another form of it is bought, of which there is no figure."""
    return one.piece.food.handling.storage if made.bought(one.piece.key).food == one.piece.key else ""


def _line(made: Shopping, day: date, row: Bought, fresh: Mapping[int, Fresh]) -> Reply:
    first = row.missing[0].piece
    form = made.bought(first.key)
    shop_food = made.shop_food(row.key)
    packs = made.shelf_at(day).of((row.key, *(key for one in row.missing for key in made.keys.get(one.piece.key, ()))))
    packed = cheapest(packs, row.exact_mg) if packs else None
    grams = ceil(row.exact_mg / 1000) if packed is None else packed.amount_mg / 1000
    eaten = list(dict.fromkeys(one.piece.food.name for one in row.missing))
    kept = [fresh[id(one)] for one in row.missing]
    keeps = min((one.keeps for one in kept if one.keeps is not None), key=lambda one: one.days, default=None)
    late = sorted({one.want.there_by for one, when in zip(row.missing, kept, strict=True) if when.late})
    spoken = list(_spoken(made, row))
    notes = list(_line_notes(made, shop_food, row, keeps, late, spoken))
    return {
        "id": f"{day.isoformat()}:{row.key}",
        "shop_on": day.isoformat(),
        "food": row.key if row.key in made.keys or packet_id(shop_food) else None,
        "packet": packet_id(shop_food),
        "name": shop_food.name,
        "table_name": made.table_name(row.key),
        "eaten_as": [] if eaten == [shop_food.name] else eaten,
        "kind": made.foods[first.key].category,
        "exact_grams": _grams(row.exact_mg),
        "grams": grams,
        **_pieces(row, shop_food),
        "waste": form.waste,
        "source": form.source,
        "source_status": form.status or None,
        "packs": [] if packed is None else _packs(packed),
        "cost_minor": None if packed is None else packed.amount_minor,
        "cheapest": packed is not None and packed.proven,
        "left_over_grams": None if packed is None else _grams(packed.amount_mg - row.exact_mg),
        "needed_on": sorted({one.want.on.isoformat() for one in row.missing}),
        "there_by": min(one.want.there_by for one in row.missing).isoformat(),
        "keeps_days": None if keeps is None else keeps.days,
        "needs": sorted({one.want.place for one in row.missing}),
        "not_for": sorted({eater.name for eater, forbidden, _reads in spoken if forbidden}),
        "to_read": _reads(spoken),
        **listed_as("note", notes),
    }  # fmt: skip


def _pieces(row: Bought, food: Food) -> Reply:
    """How many whole ones that is, where one buys it so: apples, eggs."""
    unit = food.units[0] if food.units else None
    if (
        unit is None
        or unit.name.startswith((*NOT_COUNTED, "slice", "pot"))
        or food.category not in ("fruit", "vegetables", "eggs")
    ):
        return {"pieces": None, "piece": None}
    eaten = sum((one.piece.amount_mg for one in row.missing if one.piece.key == row.key), Fraction(0))
    return {"pieces": ceil(eaten / unit.grams_mg), "piece": unit.name} if eaten else {"pieces": None, "piece": None}


def _packs(packed: Packed) -> list[Reply]:
    return [
        {"pack_grams": pack.pack_mg / 1000, "number": number, "amount_minor": pack.amount_minor}
        for pack, number in packed.counts
    ]


class _Says(NamedTuple):
    eater: Eater
    forbidden: tuple[str, ...]
    to_read: tuple[tuple[Food, tuple[str, ...]], ...]


def _spoken(made: Shopping, row: Bought) -> Iterator[_Says]:
    """For each child who may eat of a line what speaks against it, as it is eaten: once each."""
    seen: set[tuple[str, str]] = set()
    for one in row.missing:
        for said in spoken_of(one.piece.food, eaters_at(made.kitchen, one.want.eaters)):
            if (said.eater.name, one.piece.key) not in seen:
                seen.add((said.eater.name, one.piece.key))
                yield _Says(*said)


def _reads(spoken: Sequence[_Says]) -> list[Reply]:
    """The packets to read for a line: which, for whom and for what."""
    rows: dict[str, Reply] = {}
    for said in spoken:
        for food, allergens in said.to_read:
            row = rows.setdefault(
                packet_id(food) or food.name,
                {"food": packet_id(food), "name": food.name, "children": [], "allergens": []},
            )
            row["children"] += [] if said.eater.name in row["children"] else [said.eater.name]
            row["allergens"] += [one for one in allergens if one not in row["allergens"]]
    return list(rows.values())


def _line_notes(
    made: Shopping, food: Food, row: Bought, keeps: Keeps | None, late: Sequence[date], spoken: Sequence[_Says]
) -> Iterator[Message]:
    for said in spoken:
        if said.forbidden:
            yield message("shopping.not-for", name=said.eater.name, allergens=list(said.forbidden))
    for read in _reads(spoken):
        yield message("shopping.read-packet", name=read["name"], allergens=read["allergens"], names=read["children"])
    days = [day.isoformat() for day in late]
    if late and keeps is not None:
        yield message("shopping.too-old", name=food.name, days=keeps.days, dates=days)
    if late and row.missing[0].piece.food.handling.freezing == "well":
        yield message("shopping.freeze", dates=days)
    bought_as_eaten = any(one.piece.key == row.key for one in row.missing)
    perishable = row.missing[0].piece.food.handling.perishable is not False
    if keeps is None and perishable and not bought_as_eaten and made.foods[row.missing[0].piece.key].category in (
        "meats", "fish",
    ):  # fmt: skip
        yield message("shopping.no-figure", name=food.name)


def _in_order(lines: Sequence[Reply]) -> list[str]:
    return sorted({one["shop_on"] for one in lines})


def _day(day: str, lines: Sequence[Reply]) -> Reply:
    kinds = sorted({one["kind"] for one in lines})
    return {
        "on": day,
        "cost_minor": sum(one["cost_minor"] or 0 for one in lines),
        "complete": all(one["cost_minor"] is not None for one in lines),
        "kinds": [
            {
                "kind": kind,
                "title": worded(message("shopping.kind", kind=kind))["sentence"],
                "lines": sorted((one for one in lines if one["kind"] == kind), key=lambda one: str(one["name"])),
            }
            for kind in kinds
        ],
    }


def _packets(lines: Sequence[Reply]) -> list[Reply]:
    """Each packet to read once, with the lines that it settles."""
    rows: dict[str, Reply] = {}
    for line in lines:
        for one in line["to_read"]:
            row = rows.setdefault(one["food"] or one["name"], {**one, "lines": []})
            row["children"] = list(dict.fromkeys([*row["children"], *one["children"]]))
            row["allergens"] = list(dict.fromkeys([*row["allergens"], *one["allergens"]]))
            row["lines"].append(line["id"])
    return [
        {
            **row,
            **worded(
                message("shopping.read-packet", name=row["name"], allergens=row["allergens"], names=row["children"])
            ),
        }
        for row in rows.values()
    ]


def _must_not(asked: ShoppingListRequest, made: Shopping) -> Iterator[Reply]:
    """Foods that are wanted for a child who must not have them."""
    for want in made.wants:
        if not want.eaters:
            continue
        for said in spoken_of(want.piece.food, eaters_at(made.kitchen, want.eaters)):
            if said.forbidden:
                name, food = said.eater.name, want.piece.food.name
                yield {
                    "need": want.place,
                    "need_id": asked.needs[want.place].id,
                    "nickname": name,
                    **worded(message("shopping.must-not", name=name, food=food, allergens=list(said.forbidden))),
                }


def _notes(
    asked: ShoppingListRequest, made: Shopping, lines: Sequence[Reply], not_counted: Sequence[NotCounted]
) -> Iterator[Message]:
    later = [one for one in _in_order(lines) if one != asked.shop_on.isoformat()]
    if later:
        yield message("shopping.later-days", dates=later)
    unpriced = sorted({one["name"] for one in lines if one["cost_minor"] is None})
    if made.shelf.currency is not None and unpriced:
        yield message("shopping.unpriced", names=unpriced)
    if made.book is not None:
        names = [eater.name for eater in made.kitchen.eaters]
        yield from not_counted_messages(not_counted, made.book.currency, names)
    if not lines:
        yield message("shopping.nothing")
    if any(one["to_read"] for one in lines):
        yield message("shopping.store-packets")
    yield message("shopping.yields")


def _grams(amount_mg: int | Fraction) -> float:
    return round(float(amount_mg) / 1000, 1)
