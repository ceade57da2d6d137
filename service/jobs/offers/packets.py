"""The packets worth reading: which foods, for whom, for what, and how many lunches depend on each.

A dish is settled by the packets of its ingredients. Each food is listed once, whatever items hold it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from service.domain.allergens.screening import Screened, screen_food
from service.domain.allergens.to_read import foods_to_read
from service.domain.counting.masks import Tick
from service.domain.foods.food import Food
from service.domain.messages import message
from service.domain.offers.branches import Branch, Key, branches
from service.domain.offers.handled import LunchesWith
from service.domain.offers.offer import Offer, without
from service.jobs.foods.packets import packet_id
from service.jobs.offers.layout import ChildOffer
from service.reference.allergens.vocabulary import vocabulary
from service.reference.messages import worded

Reply = dict[str, Any]


class ToRead(NamedTuple):
    """Packets without which a food cannot be taken, and packets of foods that stay on offer and are read once."""

    before_taken: list[Reply]
    once: list[Reply]


class Depending(NamedTuple):
    """A food on whose packet lunches of one child depend."""

    food: Food
    items: dict[Key, list[str]]
    """The items that it settles, each with the ids of the allergens to look for."""
    lunches: int
    before_taken: bool
    """Whether it must be read before an item of it can be taken."""


def packets_to_read(
    children: Sequence[ChildOffer],
    laid_out: Sequence[Sequence[Branch]],
    tick: Tick | None = None,
) -> ToRead:
    """The packets to read, those on which most lunches depend first.

    ``laid_out``: each child's offer; ``tick``: called for each child, may raise to stop.
    """
    rows: dict[str, Reply] = {}
    for place, (one, its_branches) in enumerate(zip(children, laid_out, strict=True), 1):
        if tick is not None:
            tick()
        for food, items, lunches, before_taken in depending_on_packets(one, its_branches):
            row = rows.setdefault(
                _packet_of(food),
                {
                    "food": packet_id(food),
                    "name": food.name,
                    "items": [],
                    "children": [],
                    "allergens": [],
                    "lunches": 0,
                },
            )
            row["children"].append(one.child.nickname or f"child {place}")
            row["lunches"] += lunches
            row["items"] += [list(key) for key in items if list(key) not in row["items"]]
            names = [vocabulary().allergens[allergen].name for key in items for allergen in items[key]]
            row["allergens"] += [name for name in dict.fromkeys(names) if name not in row["allergens"]]
            row["before_taken"] = row.get("before_taken", False) or before_taken
    listed = sorted(rows.values(), key=lambda row: (-row["lunches"], row["name"]))
    found = ToRead([], [])
    for row in listed:
        first = row.pop("before_taken")
        name, allergens, lunches, number = row["name"], row["allergens"], row["lunches"], len(row["children"])
        if first:
            said = message("offer.read-packet", name=name, allergens=allergens, lunches=lunches, children=number)
        else:
            said = message("offer.read-packet-once", name=name, allergens=allergens, lunches=lunches, children=number)
        (found.before_taken if first else found.once).append({**row, **worded(said)})
    return found


def depending_on_packets(one: ChildOffer, its_branches: Sequence[Branch]) -> Iterator[Depending]:
    """The foods on whose packets lunches of a child depend, with how many; exact.

    A lunch depends on a packet where it holds a food still to be read from it, also where the food was taken out until then.
    ``its_branches``: the child's offer laid out.
    """
    out = {gone.key: gone.screened for gone in one.left_out if gone.read_first}
    open_items = {**one.unread, **out}
    if not open_items:
        return
    lunches = LunchesWith(branches(_put_back(one)) if out else its_branches)
    for food, items in _by_packet(one, open_items):
        keeps_out = any(screen_food(vocabulary(), food, each).keeps_out for each in one.avoidances)
        yield Depending(food, items, lunches.number(items), keeps_out and any(key in out for key in items))


def _by_packet(
    one: ChildOffer, open_items: Mapping[Key, Sequence[Screened]]
) -> Iterable[tuple[Food, dict[Key, list[str]]]]:
    """The foods whose packets settle a child's items: for each the items, and which allergens to look for."""
    found: dict[str, tuple[Food, dict[Key, list[str]]]] = {}
    for key, screened in open_items.items():
        avoided = [each.avoidance for each in screened]
        for food, allergens in foods_to_read(vocabulary(), one.items[key].food, avoided):
            _food, items = found.setdefault(_packet_of(food), (food, {}))
            items[key] = list(dict.fromkeys([*items.get(key, []), *allergens]))
    return found.values()


def _packet_of(food: Food) -> str:
    """What tells the packet of a food from others: its id, or the name of one sent along."""
    return packet_id(food) or food.name


def _put_back(one: ChildOffer) -> Offer:
    """A child's offer with the items put back that are out only until their packets are read."""
    gone: dict[str, set[str]] = {}
    for other in one.left_out:
        if not other.read_first:
            gone.setdefault(other.key[0], set()).add(other.key[1])
    return without(one.whole, {group: frozenset(keys) for group, keys in gone.items()})
