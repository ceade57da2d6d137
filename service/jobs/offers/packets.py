"""The packets worth reading: which foods, for whom, for what, and how many lunches depend on each.

A dish is settled by the packets of its ingredients. Each food is listed once, whatever items hold it.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from service.domain.allergens.screening import Screened, screen_food
from service.domain.counting.masks import Tick
from service.domain.foods.food import Food
from service.domain.foods.packets import Packets
from service.domain.messages import message
from service.domain.offers.handled import LunchesWith
from service.domain.offers.offer import Branch, Key, Offer, branches, without
from service.jobs.foods.packets import foods_with_packets
from service.jobs.foods.resolve import food_of
from service.jobs.offers.layout import ChildOffer, item_key
from service.jobs.offers.requests import OfferIn
from service.reference.allergens.vocabulary import vocabulary
from service.reference.messages import worded

Reply = dict[str, Any]


class ToRead(NamedTuple):
    """Packets without which a food cannot be taken, and packets of foods that stay on offer and are read once."""

    before_taken: list[Reply]
    once: list[Reply]


class OnePacket(NamedTuple):
    """The food of a packet: its id, None where only its label was sent; and what is known of it."""

    food_id: str | None
    food: Food


class Depending(NamedTuple):
    """A packet on which lunches of one child depend."""

    packet: OnePacket
    items: dict[Key, list[str]]
    """The items that it settles, each with the ids of the allergens to look for."""
    lunches: int
    before_taken: bool
    """Whether it must be read before an item of it can be taken."""


def packets_to_read(
    offer: OfferIn,
    packets: Packets,
    children: Sequence[ChildOffer],
    laid_out: Sequence[Sequence[Branch]],
    tick: Tick | None = None,
) -> ToRead:
    """The packets to read, those on which most lunches depend first.

    ``laid_out``: each child's offer; ``tick``: called for each child, may raise to stop.
    """
    foods_of = packets_of_items(offer, packets)
    rows: dict[str, Reply] = {}
    for place, (one, its_branches) in enumerate(zip(children, laid_out, strict=True), 1):
        if tick is not None:
            tick()
        for packet, items, lunches, before_taken in depending_on_packets(one, foods_of, its_branches):
            name = packet.food.name
            row = rows.setdefault(
                packet.food_id or name,
                {"food": packet.food_id, "name": name, "items": [], "children": [], "allergens": [], "lunches": 0},
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


def packets_of_items(offer: OfferIn, packets: Packets) -> dict[Key, list[OnePacket]]:
    """The packets that settle each item of an offer."""
    return {
        (group.id, item_key(item.key, item.food)): [
            OnePacket(_id_of(one), food_of(one, packets)) for one in foods_with_packets(item.food)
        ]
        for group in offer.groups
        for item in group.items
    }


def depending_on_packets(
    one: ChildOffer, foods_of: Mapping[Key, Sequence[OnePacket]], its_branches: Sequence[Branch]
) -> Iterator[Depending]:
    """The packets on which lunches of a child depend, with how many; exact.

    A lunch depends on a packet where it holds a food still to be read from it, also where the food was taken out until then.
    ``its_branches``: the child's offer laid out.
    """
    out = {gone.key: gone.screened for gone in one.left_out if gone.read_first}
    open_items = {**one.unread, **out}
    if not open_items:
        return
    lunches = LunchesWith(branches(_put_back(one)) if out else its_branches)
    for packet, items in _by_packet(one, foods_of, open_items).items():
        keeps_out = any(screen_food(vocabulary(), packet.food, each).keeps_out for each in one.avoidances)
        yield Depending(packet, items, lunches.number(items), keeps_out and any(key in out for key in items))


def _by_packet(
    one: ChildOffer, foods_of: Mapping[Key, Sequence[OnePacket]], open_items: Mapping[Key, Sequence[Screened]]
) -> dict[OnePacket, dict[Key, list[str]]]:
    """The packets that settle a child's items: for each the items, and which allergens to look for."""
    found: dict[OnePacket, dict[Key, list[str]]] = {}
    for key, screened in open_items.items():
        for packet, allergens in _packets_of(one, key, foods_of[key], screened):
            found.setdefault(packet, {})[key] = allergens
    return found


def _packets_of(
    one: ChildOffer, key: Key, foods: Sequence[OnePacket], screened: Sequence[Screened]
) -> Iterator[tuple[OnePacket, list[str]]]:
    """The packets of one item that are still to be read, each with the allergens; the item itself where none of them is."""
    avoided = [found.avoidance for found in screened]
    settled = False
    for packet in foods:
        allergens = [each.allergen for each in avoided if screen_food(vocabulary(), packet.food, each).unread]
        if allergens:
            settled = True
            yield packet, allergens
    if not settled:
        whole = OnePacket(foods[0].food_id if len(foods) == 1 else None, one.items[key].food)
        yield whole, [each.allergen for each in avoided]


def _id_of(asked: Any) -> str | None:
    return asked if isinstance(asked, str) else asked.id


def _put_back(one: ChildOffer) -> Offer:
    """A child's offer with the items put back that are out only until their packets are read."""
    gone: dict[str, set[str]] = {}
    for other in one.left_out:
        if not other.read_first:
            gone.setdefault(other.key[0], set()).add(other.key[1])
    return without(one.whole, {group: frozenset(keys) for group, keys in gone.items()})
