"""What was read on a packet, and what it settles of the food that the packet stands for.

The newest packet that holds on the day of a lunch is used; it clears nothing that a newer one named whose days are over.
What a packet names is worse than or beside what the tables know; what it does not name is clear only where its list of
ingredients was read, and never where the food contains it by its nature. Source: ours; unknown fails closed.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from fractions import Fraction
from typing import NamedTuple

from service.domain.foods.food import UNREAD, AllergenProfile, Containment, Figure, Food, Level, worse
from service.domain.measures import MILK_SATURATED, SATURATED
from service.domain.messages import Message, message


class PrintedFigure(NamedTuple):
    """One figure of a packet, for ``per_mg`` of the food: the measure's index, thousandths, and the interval it stands for."""

    measure: int
    value: Figure
    span: tuple[int, int] | None
    per_mg: int


class Packet(NamedTuple):
    """One packet as it was read. ``food``: the id of the food it stands for; ``ticks``: allergen ids, each with a level.

    ``holds_for_days``: how many days after ``read_on`` it still holds; 0: it speaks of that one packet only.
    ``claims``: gluten_free, lactose_free. ``figures``: used instead of the food's own. ``since``: newer packets of the
    food that hold no longer, oldest first. ``must_name``: allergens that the law of its label makes it name.
    """

    food: str
    read_on: date
    holds_for_days: int = 90
    ingredients: str | None = None
    contains: str | None = None
    may_contain: str | None = None
    ticks: tuple[tuple[str, Level], ...] = ()
    claims: tuple[str, ...] = ()
    figures: tuple[PrintedFigure, ...] = ()
    since: tuple["Packet", ...] = ()
    must_name: frozenset[str] = frozenset()

    def holds_on(self, day: date) -> bool:
        """Whether it may be used on a day: from the day it was read.

        >>> Packet("hummus", date(2026, 11, 3)).holds_on(date(2027, 2, 1))
        True
        >>> Packet("hummus", date(2026, 11, 3), holds_for_days=0).holds_on(date(2026, 11, 4))
        False
        """
        return self.read_on <= day <= self.read_on + timedelta(days=self.holds_for_days)


@dataclass(frozen=True, slots=True)
class Packets:
    """What a household knows of its foods on one day: of each the newest packet that holds, and whether it salts cooking water."""

    newest: tuple[Packet, ...] = ()
    by_food: Mapping[str, Packet] = field(default_factory=dict, compare=False)
    salted_water: bool = False

    def of(self, food_ids: Iterable[str]) -> tuple[Packet, ...]:
        """Those of some foods, in their order."""
        return tuple([self.by_food[one] for one in food_ids if one in self.by_food])


NO_PACKETS = Packets()


def packets_on(packets: Iterable[Packet], day: date, salted_water: bool = False) -> Packets:
    """Of each food the newest packet that holds on a day; ``salted_water``: foods are cooked in salted water.

    >>> old, new = Packet("hummus", date(2026, 11, 3)), Packet("hummus", date(2026, 11, 20), 0)
    >>> [one.read_on.day for one in packets_on([old, new], date(2026, 11, 20)).newest]
    [20]
    >>> [one.read_on.day for one in packets_on([old, new], date(2026, 11, 21)).newest]
    [3]
    >>> packets_on([old, new], date(2026, 11, 21)).newest[0].since == (new,)  # what it named is not forgotten
    True
    """
    found: dict[str, Packet] = {}
    over: list[Packet] = []
    for one in sorted(packets, key=lambda packet: packet.read_on):
        if one.holds_on(day):
            found[one.food] = one
        elif one.read_on <= day:
            over.append(one)
    for one in over:
        used = found.get(one.food)
        if used is not None and used.read_on < one.read_on:
            found[one.food] = used._replace(since=(*used.since, one))
    if not found and not salted_water:
        return NO_PACKETS
    return Packets(tuple(found[food] for food in sorted(found)), found, salted_water)


class KnownOfFoods(NamedTuple):
    """What is known of foods on any day: packets, whenever they were read, and whether cooking water is salted."""

    packets: tuple[Packet, ...] = ()
    salted_water: bool | None = None
    """None: nobody said; then no salt is counted."""

    def on(self, day: date) -> Packets:
        """What is known on a day."""
        return packets_on(self.packets, day, bool(self.salted_water))

    def of_what_is_made(self, made_on: date, until: date) -> Packets:
        """What is known of what is made on a day and eaten up to another: by the packets that held when it was made.

        What went in does not change while it is kept, so they speak of it for as long; what a newer packet named is not
        forgotten. Of foods without such a packet: by those that hold on the last day.

        >>> bread = Packet("bread", date(2026, 11, 28))
        >>> KnownOfFoods((bread,)).of_what_is_made(date(2026, 11, 29), date(2027, 3, 30)).newest == (bread,)
        True
        """
        found = dict(self.on(until).by_food)
        for food, one in self.on(made_on).by_food.items():
            newer = [each for each in self.packets if each.food == food and one.read_on < each.read_on <= until]
            found[food] = one._replace(since=tuple(sorted(newer, key=lambda each: each.read_on)))
        return Packets(tuple(found[food] for food in sorted(found)), found, bool(self.salted_water))


NOTHING_KNOWN_OF_FOODS = KnownOfFoods()


class ReadPacket(NamedTuple):
    """What the words and ticks of a packet come to. ``complete``: its list of ingredients was read.

    ``warnings_read``: its warning was read too, or it was said that none is printed.
    """

    read_on: date
    named: Mapping[str, Containment]
    ticked: Mapping[str, Level]
    complete: bool
    warnings_read: bool
    not_read: Message | None = None
    """That a text on it was given and could not be read."""


def with_figures(food: Food, figures: Iterable[PrintedFigure]) -> Food:
    """A food with the figures of its packet instead of its own; what the packet does not print stays.

    Of milk, the saturated fat that counts as milk's is the same figure.
    """
    nutrients, ranges = list(food.nutrients), dict(food.ranges)
    partly, estimated = dict(food.partly), dict(food.estimated)
    for one in figures:
        share = Fraction(food.basis_mg, one.per_mg)
        places = [one.measure]
        if one.measure == SATURATED and nutrients[MILK_SATURATED] != 0:
            places.append(MILK_SATURATED)
        for place in places:
            nutrients[place] = one.value * share
            for known in (ranges, partly, estimated):
                known.pop(place, None)
            if one.span is not None:
                ranges[place] = (one.span[0] * share, one.span[1] * share)
    return replace(food, nutrients=tuple(nutrients), ranges=ranges, partly=partly, estimated=estimated)


SURE: tuple[Level, ...] = ("contains", "may_contain", "free")
FROM_TABLE = ("usual_recipe", "read_label", "none")
"""Where the tables have a level from that is only usual, and that a packet read in full replaces."""


def profile_read(profile: AllergenProfile, packet: ReadPacket, always: frozenset[str] = frozenset()) -> AllergenProfile:
    """What is known of a food's allergens once its packet has been read; of a dish, part by part.

    ``always``: allergens that the food's own name speaks of. Source: ours.
    """
    ids = {**profile.named, **packet.named, **packet.ticked}
    named = {one: _settled(one, profile.of(one), packet, always) for one in sorted(ids)}
    of_parts = packet._replace(not_read=None)  # said once, of the whole dish
    parts = tuple(profile_read(part, of_parts, always) for part in profile.parts)
    not_read = None if packet.complete else packet.not_read or profile.not_read
    return AllergenProfile(named, _settled("", profile.others, packet, always), parts, not_read)


def as_on_all(foods: Sequence[Food]) -> Food:
    """A food as it is known on each of several days, the first day's: of every allergen it has the gravest that any day knows.

    So nothing is clear that some day does not clear, and nothing is forgotten that some day names; of a dish, part by part.
    """
    first, *others = foods
    for other in others:
        if other is first:
            continue
        parts = tuple(as_on_all(some) for some in zip(first.made_of, other.made_of, strict=True))
        first = replace(first, allergens=_gravest(first.allergens, other.allergens), made_of=parts)
    return first


def _gravest(one: AllergenProfile, other: AllergenProfile) -> AllergenProfile:
    ids = sorted({*one.named, *other.named})
    return AllergenProfile(
        {allergen: worse(one.of(allergen), other.of(allergen)) for allergen in ids},
        worse(one.others, other.others),
        tuple(_gravest(*parts) for parts in zip(one.parts, other.parts, strict=True)),
        one.not_read or other.not_read,
    )


def not_cleared_since(profile: AllergenProfile, newer: ReadPacket) -> AllergenProfile:
    """A profile that is clear of nothing that a newer packet named, though that packet holds no longer; of a dish, part by part.

    Source: ours; unknown fails closed.
    """
    raised = {one for one, seen in newer.named.items() if seen.level != "unknown" or newer.ticked.get(one) != "free"}
    raised |= {one for one, level in newer.ticked.items() if level != "free"}
    to_read = Containment("unknown", "label_statement", message("evidence.packet-since", on=newer.read_on.isoformat()))
    named = {one: to_read for one in sorted(raised) if profile.of(one).level == "free"}
    parts = tuple(not_cleared_since(part, newer) for part in profile.parts)
    return profile._replace(named={**profile.named, **named}, parts=parts)


def _settled(allergen: str, known: Containment, packet: ReadPacket, always: frozenset[str]) -> Containment:
    """One allergen: what the packet names is taken where it is worse, or where the tables only know what is usual."""
    ticked, seen = packet.ticked.get(allergen), packet.named.get(allergen)
    if ticked == "free" and seen is not None and seen.level == "unknown":
        seen = None  # words that may stand for it; whoever read the packet says that they do not
    if ticked not in (None, "free"):
        tick = _ticked(ticked, packet.read_on)
        seen = tick if seen is None else worse(tick, seen)
    if seen is not None:
        settled = packet.complete or ticked is not None
        return seen if known.level not in SURE and seen.level == "may_contain" and settled else worse(seen, known)
    if not (packet.complete or ticked == "free") or known.level == "free":
        if packet.not_read is None or known.level not in UNREAD:
            return known
        seen_before = () if known.evidence is None else (known.evidence,)
        return known._replace(evidence=message("evidence.several", parts=[packet.not_read, *seen_before]))
    warnings_known = packet.warnings_read or ticked == "free"
    usual = known.basis in FROM_TABLE
    if known.level == "contains" and (not usual or allergen in always or not packet.complete):
        return known
    if known.level == "may_contain" and not (usual and warnings_known):
        return known
    if known.warned and not warnings_known:
        return known._replace(level="may_contain", warned=False)
    return Containment("free", "label_statement", message("evidence.packet-not-named", on=packet.read_on.isoformat()))


def _ticked(level: Level, read_on: date) -> Containment:
    return Containment(level, "label_statement", on_packet(message("evidence.label-read", level=level), read_on))


def on_packet(seen: Message, read_on: date) -> Message:
    """What was seen, with the day the packet was read."""
    return message("evidence.packet", seen=seen, on=read_on.isoformat())
