"""The packets of a request, and the foods of the tables with what was read on them.

A packet speaks of the food it names; a dish is put together again from its foods with their packets. What was made is
remembered, so that packets cost little.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from service.domain.errors import BadInput, Faults
from service.domain.foods.food import AllergenProfile, Containment, Food, Level, worse
from service.domain.foods.packets import (
    NO_PACKETS,
    Packet,
    Packets,
    PrintedFigure,
    ReadPacket,
    not_cleared_since,
    on_packet,
    packets_on,
    profile_read,
    with_figures,
)
from service.domain.messages import Message, message
from service.jobs.foods.by_id import food_by_id
from service.jobs.foods.label_law import must_name
from service.jobs.requests import foods as requests
from service.jobs.requests.fields import is_kept_id
from service.reference.allergens.vocabulary import vocabulary


def resolve_packets(asked: Sequence[requests.Packet]) -> list[Packet]:
    """The packets of a request, each with its ticks resolved; faults have their place in the list, all together.

    Raises ``UnknownName`` for a food or an allergen, ``BadInput`` for a second packet of one food read on the same day.
    """
    return _all_resolved([_as_asked(one) for one in asked])


def resolve_packet(asked: requests.Packet) -> Packet:
    """One packet; faults have their place within it."""
    return _resolved(_as_asked(asked))


class _AsAsked(NamedTuple):
    """What a request says of a packet, to be remembered by."""

    food: str
    read_on: date
    holds_for_days: int
    ingredients: str | None
    contains: str | None
    may_contain: str | None
    ticks: tuple[tuple[str, str], ...]
    claims: tuple[str, ...]
    figures: tuple[PrintedFigure, ...]
    label_law: str | None


def _as_asked(asked: requests.Packet) -> _AsAsked:
    return _AsAsked(
        asked.food,
        asked.read_on,
        asked.holds_for_days,
        asked.ingredients,
        asked.contains,
        asked.may_contain,
        tuple([(tick.allergen, tick.level) for tick in asked.allergens]) if asked.allergens else (),
        tuple(asked.claims) if asked.claims else (),
        () if asked.facts is None else _figures(asked, asked.facts),
        asked.label_law,
    )


def _all_resolved(asked: Sequence[_AsAsked]) -> list[Packet]:
    faults = Faults()
    found: list[Packet] = []
    seen: set[tuple[str, date]] = set()
    for place, one in enumerate(asked):
        with faults.at(place):
            if (one.food, one.read_on) in seen:
                raise BadInput(
                    field="read_on",
                    value=one.read_on.isoformat(),
                    problem=message("fault.packet-twice"),
                )
            seen.add((one.food, one.read_on))
            found.append(_resolved(one))
    faults.raise_all()
    return found


def _resolved(asked: _AsAsked) -> Packet:
    food = asked.food
    faults = Faults()
    if not is_kept_id(food):
        with faults.at("food"):
            food_by_id(food)
    ticks: dict[str, Level] = {}
    for place, (allergen, level) in enumerate(asked.ticks):
        with faults.at("allergens", place, "allergen"):
            _add_tick(ticks, allergen, LEVEL_OF_TICK[level])
    law: frozenset[str] = frozenset()
    with faults.at():
        law = must_name(asked.label_law)
    faults.raise_all()
    return Packet(
        food,
        asked.read_on,
        asked.holds_for_days,
        asked.ingredients,
        asked.contains,
        asked.may_contain,
        tuple(sorted(ticks.items())),
        tuple(sorted(set(asked.claims))),
        asked.figures,
        must_name=law,
    )


def _figures(asked: requests.Packet, facts: requests.NutritionFacts) -> tuple[PrintedFigure, ...]:
    from service.jobs.foods.from_label import figures_of

    size = 100.0 if asked.serving is None else asked.serving.grams or asked.serving.ml or 0.0
    values, spans = figures_of(facts, asked.facts_rounded)
    return tuple(
        PrintedFigure(measure, value, spans.get(measure), max(1, round(size * 1000)))
        for measure, value in enumerate(values)
        if value is not None
    )


def packets_at_hand(asked: Sequence[requests.Packet], day: date, salted_water: bool | None = None) -> Packets:
    """The packets of a request that hold on a day, and whether cooking water is salted; raises as ``resolve_packets``."""
    if not (asked or salted_water):
        return NO_PACKETS
    return _at_hand(tuple([_as_asked(one) for one in asked]), day, bool(salted_water))


def days_alike(asked: Sequence[requests.Packet], days: Iterable[date]) -> dict[date, date]:
    """For each day the first of them on which the same packets hold."""
    first: dict[Packets, date] = {}
    return {day: first.setdefault(packets_at_hand(asked, day), day) for day in sorted(days)}


@lru_cache(maxsize=256)
def _at_hand(asked: tuple[_AsAsked, ...], day: date, salted_water: bool) -> Packets:
    """Remembered, because the same packets come with every request of a household."""
    return packets_on(_all_resolved(asked), day, salted_water)


def of_food(packets: Packets, food_id: str) -> tuple[Packet, ...]:
    """The packets that speak of a food of the tables: its own, and for a dish those of its ingredients."""
    if not packets.newest:
        return ()
    parts = _parts_of(food_id)
    return packets.of([food_id, *(part for part, _mg in parts)] if parts else [food_id])


@lru_cache(maxsize=4096)
def table_food(food_id: str, packets: tuple[Packet, ...], salted_water: bool = False) -> Food:
    """A food of the tables with the packets that speak of it, as ``of_food`` gives them; remembered."""
    by_food = {one.food: one for one in packets}
    if any(part in by_food for part, _mg in _parts_of(food_id)):
        from service.reference.foods.recipes import recipe_of

        food = recipe_of(food_id, lambda part: table_food(part, of_food_in(by_food, part), salted_water))
    else:
        food = food_by_id(food_id, salted_water)
    return with_packet(food, by_food[food_id]) if food_id in by_food else food


def of_food_in(by_food: dict[str, Packet], food_id: str) -> tuple[Packet, ...]:
    """The packet of one food that is not a dish, if there is one."""
    return (by_food[food_id],) if food_id in by_food else ()


def with_packet(food: Food, packet: Packet) -> Food:
    """A food with what was read on its packet."""
    from service.jobs.foods.from_label import CLEARED_BY

    profile = _profile(food, packet)
    if packet.ingredients:
        profile = _with_exempt(profile, food, packet)
    claimed = {
        allergen: Containment("free", "label_statement", on_packet(said, packet.read_on))
        for allergen, said in (CLEARED_BY[claim] for claim in packet.claims)
    }
    profile = profile._replace(
        named={**profile.named, **claimed},
        parts=tuple(part._replace(named={**part.named, **claimed}) for part in profile.parts),
    )
    for newer in packet.since:
        profile = not_cleared_since(profile, _read(newer))
    return replace(with_figures(food, packet.figures), allergens=profile)


def _profile(food: Food, packet: Packet) -> AllergenProfile:
    """What is known of a food's allergens by its packet."""
    read = _read(packet)
    # What the name speaks of, even by a word that only may stand for it, is not cleared by the silence of a list.
    return profile_read(food.allergens, read, _named_by(food.name) if read.complete else frozenset())


def _named_by(name: str) -> frozenset[str]:
    """The allergens that the name of a food speaks of."""
    from service.domain.labels.reader import read_label
    from service.reference.labels.words import label_words

    return frozenset(one.allergen for one in read_label(label_words(), name).evidence)


def _with_exempt(profile: AllergenProfile, food: Food, packet: Packet) -> AllergenProfile:
    """A profile by a packet with a list of ingredients, of which some may not count as gluten."""
    from service.domain.labels.exempt import without_exempt
    from service.jobs.foods.from_label import with_exempt
    from service.reference.labels.words import exempt_words

    without, taken_out = without_exempt(packet.ingredients or "", exempt_words())
    if not taken_out:
        return profile
    return with_exempt(profile, _profile(food, packet._replace(ingredients=without)), taken_out, vocabulary())


@lru_cache(maxsize=1024)
def _read(packet: Packet) -> ReadPacket:
    """The words of a packet, read as a label's; one that was only ticked has none, and no words have to be looked up."""
    if not (packet.ingredients or packet.contains or packet.may_contain):
        return ReadPacket(packet.read_on, {}, dict(packet.ticks), False, packet.may_contain is not None)
    from service.domain.labels.reader import read_label
    from service.reference.labels.words import label_words

    reading = read_label(label_words(), packet.ingredients, packet.contains, packet.may_contain, packet.must_name)
    named: dict[str, Containment] = {}
    for evidence in reading.evidence:
        level: Level = "unknown" if evidence.tier == "check_label" else evidence.tier
        said = on_packet(message("evidence.label-words", words=evidence.words, reason=evidence.reason), packet.read_on)
        one = Containment(level, "label_statement", said)
        named[evidence.allergen] = worse(named[evidence.allergen], one) if evidence.allergen in named else one
    # A statement that could not be read clears nothing.
    complete = reading.has_ingredients and reading.readable
    not_read = None if reading.not_read is None else on_packet(reading.not_read, packet.read_on)
    return ReadPacket(packet.read_on, named, dict(packet.ticks), complete, packet.may_contain is not None, not_read)


def statement_not_read(asked: requests.Packet) -> Message | None:
    """That a text of a packet could not be read, and what to do; None where each could, or none was given."""
    texts = Packet(
        asked.food,
        asked.read_on,
        ingredients=asked.ingredients,
        contains=asked.contains,
        may_contain=asked.may_contain,
    )
    return _read(texts).not_read


def allergens_read(asked: requests.Packet) -> dict[str, Level]:
    """What a packet says of each allergen that its words or ticks name; the worse where both do. Raises as ``resolve_packet``."""
    read = _read(resolve_packet(asked))
    found: dict[str, Level] = dict(read.ticked)
    for allergen, said in read.named.items():
        found[allergen] = min(said.level, found.get(allergen, said.level), key=WORST_READ.index)
    return found


LEVEL_OF_TICK: dict[str, Level] = {"contains": "contains", "may_contain": "may_contain", "not_named": "free"}
WORST_FIRST: tuple[Level, ...] = ("contains", "may_contain", "free")
WORST_READ: tuple[Level, ...] = ("contains", "may_contain", "unknown", "free")


def _add_tick(ticks: dict[str, Level], name: str, level: Level) -> None:
    """Note a tick; a group that is not named clears its members; of an allergen ticked twice the worse tick holds."""
    from service.domain.allergens.vocabulary import resolve

    words = vocabulary()
    for allergen in resolve(words, name):
        for one in {allergen, *(words.members_of(allergen) if level == "free" else ())}:
            known = ticks.get(one, "free")
            ticks[one] = min(level, known, key=WORST_FIRST.index)


@lru_cache(maxsize=4096)
def _parts_of(food_id: str) -> tuple[tuple[str, int], ...]:
    from service.reference.foods.recipes import recipe_parts

    return recipe_parts().get(food_id, ())


def packet_id(food: Food) -> str | None:
    """The id under which a packet of a food is stored; None for a food that was only sent along, and for an own dish."""
    if food.kind == "label" and (food.made_of or not is_kept_id(food.id)):
        return None
    return food.id


def packets_for(
    foods: Iterable[str | requests.LabelFood | requests.Recipe], packets: Iterable[requests.Packet]
) -> list[requests.Packet]:
    """Of some packets those that speak of one of these foods, or of a food in one of these dishes."""
    named = {food_id for one in foods for food_id in food_ids(one)}
    return [one for one in packets if one.food in named]


def food_ids(asked: str | requests.LabelFood | requests.Recipe) -> Iterator[str]:
    """The ids that a packet of a food, or of a food in a dish, may name."""
    if isinstance(asked, str):
        yield asked
        yield from (part for part, _mg in _parts_of(asked))
    elif isinstance(asked, requests.Recipe):
        for one in asked.ingredients:
            yield from food_ids(one.food)
    elif asked.id is not None:
        yield asked.id
