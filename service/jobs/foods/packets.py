"""The packets of a request, and the foods of the tables with what was read on them.

A packet speaks of the food it names; a dish is put together again from its foods with their packets. What was made is
remembered, so that packets cost little.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from functools import lru_cache

from service.domain.errors import BadInput, Faults
from service.domain.foods.food import Containment, Food, Level, worse
from service.domain.foods.packets import NO_PACKETS, Packet, Packets, ReadPacket, on_packet, packets_on, profile_read
from service.domain.foods.recipes import Ingredient, merged_allergens
from service.domain.messages import message
from service.jobs import requests
from service.jobs.foods.by_id import food_by_id
from service.reference.allergens.vocabulary import vocabulary


def resolve_packets(asked: Sequence[requests.Packet]) -> list[Packet]:
    """The packets of a request, each with its ticks resolved; faults have their place in the list, all together.

    Raises ``UnknownName`` for a food or an allergen, ``BadInput`` for a second packet of one food read on the same day.
    """
    faults = Faults()
    found: list[Packet] = []
    seen: set[tuple[str, date]] = set()
    for place, one in enumerate(asked):
        with faults.at(place):
            if (one.food, one.read_on) in seen:
                raise BadInput(
                    field="read_on",
                    value=one.read_on.isoformat(),
                    problem="is the day of another packet of the same food",
                    remedy="Give one packet a day of each food.",
                )
            seen.add((one.food, one.read_on))
            found.append(resolve_packet(one))
    faults.raise_all()
    return found


def resolve_packet(asked: requests.Packet) -> Packet:
    """One packet; faults have their place within it."""
    faults = Faults()
    if not requests.is_kept_id(asked.food):
        with faults.at("food"):
            food_by_id(asked.food)
    ticks: dict[str, Level] = {}
    for place, tick in enumerate(asked.allergens):
        with faults.at("allergens", place, "allergen"):
            _add_tick(ticks, tick)
    faults.raise_all()
    return Packet(
        asked.food,
        asked.read_on,
        asked.holds_for_days,
        asked.ingredients,
        asked.contains,
        asked.may_contain,
        tuple(sorted(ticks.items())),
    )


def packets_at_hand(asked: Sequence[requests.Packet], day: date, salted_water: bool | None = None) -> Packets:
    """The packets of a request that hold on a day, and whether cooking water is salted; raises as ``resolve_packets``."""
    return packets_on(resolve_packets(asked), day, bool(salted_water)) if asked or salted_water else NO_PACKETS


def of_food(packets: Packets, food_id: str) -> tuple[Packet, ...]:
    """The packets that speak of a food of the tables: its own, and for a dish those of its ingredients."""
    if not packets.newest:
        return ()
    return packets.of([food_id, *(part for part, _mg in _parts_of(food_id))])


@lru_cache(maxsize=4096)
def table_food(food_id: str, packets: tuple[Packet, ...], salted_water: bool = False) -> Food:
    """A food of the tables with the packets that speak of it, as ``of_food`` gives them; remembered."""
    food = food_by_id(food_id, salted_water)
    by_food = {one.food: one for one in packets}
    parts = _parts_of(food_id)
    if any(part in by_food for part, _mg in parts):
        ingredients = [Ingredient(table_food(part, of_food_in(by_food, part)), mg, None) for part, mg in parts]
        food = replace(food, allergens=merged_allergens(ingredients))
    return with_packet(food, by_food[food_id]) if food_id in by_food else food


def of_food_in(by_food: dict[str, Packet], food_id: str) -> tuple[Packet, ...]:
    """The packet of one food that is not a dish, if there is one."""
    return (by_food[food_id],) if food_id in by_food else ()


def with_packet(food: Food, packet: Packet) -> Food:
    """A food with what was read on its packet."""
    from service.domain.labels.reader import read_label
    from service.reference.labels.words import label_words

    # What the name speaks of, even by a word that only may stand for it, is not cleared by silence.
    named = frozenset(one.allergen for one in read_label(label_words(), food.name).evidence)
    return replace(food, allergens=profile_read(food.allergens, _read(packet), named))


@lru_cache(maxsize=1024)
def _read(packet: Packet) -> ReadPacket:
    """The words of a packet, read as a label's."""
    from service.domain.labels.reader import read_label
    from service.reference.labels.words import label_words

    reading = read_label(label_words(), packet.ingredients, packet.contains, packet.may_contain)
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


LEVEL_OF_TICK: dict[str, Level] = {"contains": "contains", "may_contain": "may_contain", "not_named": "free"}
WORST_FIRST: tuple[Level, ...] = ("contains", "may_contain", "free")


def _add_tick(ticks: dict[str, Level], tick: requests.PacketTick) -> None:
    """Note a tick; a group that is not named clears its members; of an allergen ticked twice the worse tick holds."""
    from service.domain.allergens.vocabulary import resolve

    words, level = vocabulary(), LEVEL_OF_TICK[tick.level]
    for allergen in resolve(words, tick.allergen):
        for one in {allergen, *(words.members_of(allergen) if level == "free" else ())}:
            known = ticks.get(one, "free")
            ticks[one] = min(level, known, key=WORST_FIRST.index)


def _parts_of(food_id: str) -> tuple[tuple[str, int], ...]:
    from service.reference.foods.recipes import recipe_parts

    return recipe_parts().get(food_id, ())


def foods_with_packets(
    asked: str | requests.LabelFood | requests.Recipe,
) -> Iterator[str | requests.LabelFood | requests.Recipe]:
    """The foods whose packets settle a food: of a dish its ingredients, otherwise the food itself."""
    if isinstance(asked, requests.Recipe):
        for one in asked.ingredients:
            yield from foods_with_packets(one.food)
    elif isinstance(asked, str) and _parts_of(asked):
        yield from (part for part, _mg in _parts_of(asked))
    else:
        yield asked


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
