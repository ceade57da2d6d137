"""What a packet says, before it is kept or after: its words marked where they stand, and what they mean for each child."""

from datetime import date
from typing import Any
from uuid import UUID

from service.domain.allergens.screening import screen_food
from service.domain.allergens.vocabulary import legal_list
from service.domain.errors import Faults
from service.domain.foods.packets import packets_on
from service.domain.labels.evidence import Field, LabelReading
from service.domain.labels.marked import Piece, marked
from service.domain.labels.reader import read_label
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.allergens.reply import screened_row
from service.jobs.foods.packets import resolve_packet
from service.jobs.foods.resolve import food_of
from service.jobs.household.requests import KeptChild, KeptPacket
from service.jobs.household.stored.kept_things import KeptThings
from service.jobs.requests.fields import is_kept_id
from service.reference.allergens.vocabulary import vocabulary
from service.reference.labels.words import label_words
from service.reference.messages import say
from service.store.household.kinds import CHILD
from service.store.household.records import Connection, page

MOST_CHILDREN = 50


def read_packet(connection: Connection, household: UUID, packet: KeptPacket) -> dict[str, Any]:
    """The reading of a packet and what it means on the day it was read, whatever else is kept of its food.

    ``texts``: of each text its ``pieces`` with the allergens that each names. ``not_read``: why the list of ingredients
    settles nothing and what to do, or empty. ``named``: names of allergens by tier. Of both only those that a law makes
    labels name or that a child here must keep away from: not every ingredient. ``children``: of each child that must
    keep away from something, a row for each allergen with its ``outcome``. Raises as ``resolve_packet``, and ``NotThere``
    for an own food that is not here.
    """
    kept, faults = KeptThings(connection, household), Faults()
    with faults.at():
        food_asked = kept.food(packet.food, "/food", recipes=False) if is_kept_id(packet.food) else packet.food
    with faults.at():
        resolved = resolve_packet(kept.with_label_law(packet))
    faults.raise_all()
    food = food_of(food_asked, packets_on([resolved], packet.read_on))
    reading = read_label(label_words(), packet.ingredients, packet.contains, packet.may_contain, resolved.must_name)
    children, avoided = [], set[str]()
    for record in page(connection, CHILD, household, None, MOST_CHILDREN):
        child = KeptChild.model_validate(record.body)
        avoids = avoidances_of(child, child.setting())
        avoided.update(one.allergen for one in avoids)
        rows = [screened_row(food, screen_food(vocabulary(), food, one)) for one in avoids]
        if rows:
            named = [{**row, "allergen_name": _name(row["allergen"])} for row in rows]
            children.append({"id": str(record.id), "nickname": child.nickname, "allergens": named})
    shown = _worth_showing(avoided, packet.read_on)
    return {
        "food": {"id": packet.food, "name": food.name},
        "texts": _texts(packet, reading, shown),
        "not_read": "" if reading.not_read is None else say(reading.not_read),
        "named": {
            "contains": _names(reading.contains & shown),
            "may_contain": _names((reading.may_contain - reading.contains) & shown),
            "check_label": _names((reading.check_label - reading.contains - reading.may_contain) & shown),
        },
        "children": children,
    }


def allergens_looked_for(connection: Connection, household: UUID) -> list[str]:
    """The ids of all that a child of the household must keep away from, in the order of the vocabulary."""
    wanted: set[str] = set()
    for record in page(connection, CHILD, household, None, MOST_CHILDREN):
        child = KeptChild.model_validate(record.body)
        wanted.update(one.allergen for one in avoidances_of(child, child.setting()))
    return [one for one in vocabulary().allergens if one in wanted]


def allergens_on_labels(on: date) -> list[tuple[str, str]]:
    """Id and name of each allergen that some law makes a label declare on a day, in the order of the vocabulary."""
    words = vocabulary()
    listed = {
        entry.allergen
        for jurisdiction in words.jurisdictions
        for entry in legal_list(words, jurisdiction, on)
        if entry.status == "mandatory"
    }
    return [(one.id, one.name) for one in words.allergens.values() if one.id in listed]


def label_laws() -> list[str]:
    """The countries whose law on allergens a label may follow, by their codes."""
    return list(vocabulary().jurisdictions)


def _worth_showing(avoided: set[str], on: date) -> frozenset[str]:
    """What of a label is worth showing: allergens of a law or that are avoided here, and what belongs to them."""
    words = vocabulary()
    listed = {allergen for allergen, _name in allergens_on_labels(on)}
    below = {member for one in listed | avoided for member in words.members_of(one)}
    above = {group for one in avoided for group in words.groups_of(one)}
    return frozenset(listed | avoided | below | above)


def name_of_allergen(allergen: str) -> str:
    """The plain name of an allergen; what it is called where it is not an id."""
    return _name(allergen) if allergen in vocabulary().allergens else allergen


def _texts(packet: KeptPacket, reading: LabelReading, shown: frozenset[str]) -> list[dict[str, Any]]:
    texts: tuple[tuple[Field, str | None], ...] = (
        ("ingredients", packet.ingredients),
        ("contains", packet.contains),
        ("precaution", packet.may_contain),
    )
    return [
        {"field": field, "pieces": [_piece(one, shown) for one in marked(text, reading.evidence, field)]}
        for field, text in texts
        if text
    ]


def _piece(piece: Piece, shown: frozenset[str]) -> dict[str, Any]:
    by_tier: dict[str, list[str]] = {}
    for one in piece.named:
        if one.allergen in shown:
            by_tier.setdefault(one.tier, []).append(_name(one.allergen))
    return {"text": piece.text, "named": by_tier}


def _names(allergens: frozenset[str]) -> list[str]:
    return [one.name for one in vocabulary().allergens.values() if one.id in allergens]


def _name(allergen: str) -> str:
    return vocabulary().allergens[allergen].name
