"""What the pages of packets show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from service.domain.measures import LABEL_MEASURES
from service.domain.messages import Message
from service.jobs.household.packets.packet_reading import name_of_allergen
from service.reference.foods.pictures import picture_of
from service.reference.messages import page_catalogue
from service.web.forms.conflicts import Conflict
from service.web.forms.form import Form
from service.web.label_figures import OTHER_UNITS, USUAL_FIGURES
from service.web.packets.filled import Filled
from service.web.packets.typed import FIGURE, NO_WARNING, TICK

FIRST_SHOWN = 8
USUAL_HOLDS = ("90", "30", "180", "0")
TIERS = {"contains": "stop", "may_contain": "mind", "check_label": "open"}


@dataclass(frozen=True)
class ToRead:
    """A packet worth reading: its food, for whom, and how many lunches depend on it; 0: it was read in vain, or is ``at_home``."""

    food: str
    name: str
    picture: str
    who: list[str]
    lunches: int
    at_home: bool


@dataclass(frozen=True)
class PacketRow:
    """A packet that was read. ``state``: as ``jobs.household.packets_kept`` says; ``kind``: how it is marked."""

    id: str
    food: str
    name: str
    picture: str
    read_on: str
    holds_until: str
    this_packet_only: bool
    state: str
    kind: str


@dataclass(frozen=True)
class PacketsView:
    """The context of ``packets/packets.html``.

    ``query``: what was searched for, or empty. ``first``, ``more``: packets worth reading first, and the others.
    ``too_many``: why that is not known, or empty. ``due``: to be read again. ``items``: all, or those found, of ``total``.
    ``may_write``: whether this device may read packets in.
    """

    query: str
    first: list[ToRead]
    more: list[ToRead]
    too_many: str
    due: list[PacketRow]
    items: list[PacketRow]
    total: int
    may_write: bool


@dataclass(frozen=True)
class FoodToRead:
    """A food whose packet can be read. ``kind``: as the food search says."""

    id: str
    name: str
    picture: str
    kind: str


@dataclass(frozen=True)
class Dish:
    """A dish, and its ingredients."""

    name: str
    foods: list[FoodToRead]


@dataclass(frozen=True)
class ChooseView:
    """The context of ``packets/choose.html``: which food the packet is of.

    ``unknown``: an id that is no food here. ``gtin``: the code of the product, where it was looked up, or empty.
    """

    query: str
    foods: list[FoodToRead]
    dishes: list[Dish]
    unknown: bool = False
    gtin: str = ""


@dataclass(frozen=True)
class Words:
    """Some words of a text. ``named``: what they name, a sentence for each kind; ``kind``: the gravest, or empty."""

    text: str
    named: list[Message] = field(default_factory=list)
    kind: str = ""


@dataclass(frozen=True)
class TextRead:
    """A text of the packet, in words that are marked or not. ``field``: ingredients, contains or precaution."""

    field: str
    words: list[Words]


@dataclass(frozen=True)
class ForChild:
    """What the packet means for a child: ``kind`` is stop, mind or fine; ``why``: the evidence of each sentence."""

    nickname: str
    kind: str
    sentences: list[Message]
    why: list[str]


@dataclass(frozen=True)
class ReadingView:
    """What was read. ``not_read``: why the text settles nothing and what to do, or empty. ``named``: sentences."""

    texts: list[TextRead]
    not_read: str
    named: list[Message]
    children: list[ForChild]


@dataclass(frozen=True)
class Tick:
    """One allergen that can be ticked: the field, and the allergen's name."""

    field: str
    name: str


@dataclass(frozen=True)
class Figure:
    """One figure that can be typed: the field, what it is and its unit."""

    field: str
    name: str
    unit: str


@dataclass(frozen=True)
class FormView:
    """The context of ``packets/form.html``.

    ``title``: the code of what the page is called. ``action``: where the form goes; ``back``: where the page leads back to. ``version``: of the record that is edited, or
    empty. ``mark``: of the reading shown, or empty. ``repeat``: a new key, so that a form that is sent twice is carried out
    once. ``laws``: the countries whose law a label may follow. ``ticks``: allergens that matter here; ``more_ticks``: the others. ``conflict``: what another device has
    changed meanwhile. ``same_day``: the id of a packet of this food that was read on the same day, or empty.
    ``changed_since``: the text is not the one whose reading was shown. ``removed``: another device removed it.
    ``compare``: the text is that of an earlier packet. ``filled``: the entry of a public database that it was filled in from.
    """

    form: Form
    title: str
    action: str
    back: str
    food_name: str
    picture: str
    holds: list[str]
    laws: list[str]
    ticks: list[Tick]
    more_ticks: list[Tick]
    figures: list[Figure]
    other_units: list[Figure]
    figures_open: bool
    version: str = ""
    repeat: str = ""
    mark: str = ""
    reading: ReadingView | None = None
    conflict: Conflict | None = None
    same_day: str = ""
    changed_since: bool = False
    removed: bool = False
    compare: bool = False
    filled: Filled | None = None


@dataclass(frozen=True)
class PacketView:
    """The context of ``packets/packet.html``, and of ``packets/remove.html``.

    ``ticks``: each allergen with the code of its level; ``claims``, ``per``: codes. ``figures``: each with its amount.
    ``photo``: the address of the photograph, or empty. ``form``: what was sent from this page, with what is wrong.
    """

    row: PacketRow
    gtin: str
    ticks: list[tuple[str, str]]
    claims: list[str]
    figures: list[tuple[str, str]]
    per: str
    reading: ReadingView
    photo: str
    version: int
    may_write: bool
    form: Form


ROW_KINDS = {"holds": "fine", "soon": "mind", "over": "mind", "replaced": "open", "later": "open"}


def packets_view(
    kept: Mapping[str, Any], to_read: Sequence[Mapping[str, Any]], query: str, *, too_many: str, may_write: bool
) -> PacketsView:
    """The list, from the replies of ``packets_kept`` and ``packets_to_read``."""
    worth = [
        ToRead(
            row["food"],
            row["name"],
            picture_of(row["name"]),
            [child["nickname"] for child in row["children"]],
            row["lunches"],
            row["at_home"],
        )
        for row in to_read
    ]
    return PacketsView(
        query=query,
        first=worth[:FIRST_SHOWN],
        more=worth[FIRST_SHOWN:],
        too_many=too_many,
        due=[packet_row(row) for row in kept["due"]],
        items=[packet_row(row) for row in kept["items"]],
        total=kept["total"],
        may_write=may_write,
    )


def packet_row(row: Mapping[str, Any]) -> PacketRow:
    """A row of ``packets_kept``."""
    return PacketRow(
        id=row["id"],
        food=row["food"],
        name=row["name"],
        picture=picture_of(row["name"], row["category"] or None),
        read_on=row["read_on"],
        holds_until=row["holds_until"],
        this_packet_only=row["this_packet_only"],
        state=row["state"],
        kind=ROW_KINDS[row["state"]],
    )


def packet_view(
    row: Mapping[str, Any],
    body: Mapping[str, Any],
    version: int,
    read: Mapping[str, Any],
    *,
    photo: str | None,
    may_write: bool,
    form: Form,
) -> PacketView:
    """One packet: its ``row`` of ``packets_kept``, what is kept, and its reading."""
    facts = body["facts"] or {}
    return PacketView(
        row=packet_row(row),
        gtin=body["gtin"] or "",
        ticks=[(name_of_allergen(one["allergen"]), f"packets.tick-{one['level']}") for one in body["allergens"]],
        claims=[f"packets.claim-{one}" for one in body["claims"]],
        figures=[
            (one.label, f"{facts[one.id]:g} {one.unit}") for one in LABEL_MEASURES if facts.get(one.id) is not None
        ],
        per=f"packets.per-{body['facts_per']}",
        reading=reading_view(read),
        photo="" if photo is None else f"/packets/{row['id']}/photo?mark={photo}",
        version=version,
        may_write=may_write,
        form=form,
    )


def choose_view(found: Mapping[str, Any], query: str, *, unknown: bool = False, gtin: str = "") -> ChooseView:
    """Which food, from the reply of ``packet_foods``."""
    return ChooseView(
        query,
        [food_to_read(row) for row in found["foods"]],
        [Dish(dish["name"], [food_to_read(row) for row in dish["foods"]]) for dish in found["dishes"]],
        unknown,
        gtin,
    )


def food_to_read(row: Mapping[str, Any]) -> FoodToRead:
    """A food, from a row of the food search."""
    return FoodToRead(row["id"], row["name"], picture_of(row["name"], row["category"]), row["kind"])


def reading_view(read: Mapping[str, Any]) -> ReadingView:
    """What was read, from the reply of ``packet_reading``."""
    said = {
        "contains": Message("packets.names", {"what": read["named"]["contains"]}),
        "may_contain": Message("packets.warns-of", {"what": read["named"]["may_contain"]}),
        "check_label": Message("packets.may-stand-for", {"what": read["named"]["check_label"]}),
    }
    return ReadingView(
        texts=[TextRead(text["field"], [_words(one) for one in text["pieces"]]) for text in read["texts"]],
        not_read=read["not_read"],
        named=[one for tier, one in said.items() if read["named"][tier]],
        children=[_for_child(child) for child in read["children"]],
    )


def _words(piece: Mapping[str, Any]) -> Words:
    named = piece["named"]
    said = {
        "contains": Message("packets.mark-contains", {"what": named.get("contains", [])}),
        "may_contain": Message("packets.mark-may-contain", {"what": named.get("may_contain", [])}),
        "check_label": Message("packets.mark-check", {"what": named.get("check_label", [])}),
    }
    kind = next((TIERS[tier] for tier in TIERS if tier in named), "")
    return Words(piece["text"], [said[tier] for tier in TIERS if tier in named], kind)


def _for_child(child: Mapping[str, Any]) -> ForChild:
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for row in child["allergens"]:
        groups.setdefault(_meaning(row), []).append(row)
    names = {
        meaning: list(dict.fromkeys(row["allergen_name"] for row in rows))  # avoided and banned: once
        for meaning, rows in groups.items()
    }
    said = {
        "contains": Message("packets.child-contains", {"what": names.get("contains", [])}),
        "warned": Message("packets.child-warned", {"what": names.get("warned", [])}),
        "banned": Message("packets.child-banned", {"what": names.get("banned", [])}),
        "look": Message("packets.child-look", {"what": names.get("look", [])}),
        "allowed": Message("packets.child-allowed", {"what": names.get("allowed", [])}),
        "not_named": Message("packets.child-not-named", {"what": names.get("not_named", [])}),
        "by_food": Message("packets.child-by-food", {"what": names.get("by_food", [])}),
    }
    kind = "stop" if groups.keys() & {"contains", "warned", "banned"} else "mind" if "look" in groups else "fine"
    why = list(dict.fromkeys(row["evidence"] for row in child["allergens"] if row["evidence"]))
    return ForChild(child["nickname"], kind, [said[one] for one in said if one in groups], why)


def _meaning(row: Mapping[str, Any]) -> str:
    """What a row of the screening comes to for the child."""
    if row["do_not_pack"]:
        if row["avoided_by"] == "setting":
            return "banned"
        return "contains" if row["outcome"] == "avoid" else "warned"
    if row["outcome"] == "not_declared":
        return "not_named" if row["basis"] == "label_statement" else "by_food"
    return "allowed" if row["outcome"] == "may_contain" else "look"


def ticks_of(form: Form, first: Sequence[str], others: Sequence[tuple[str, str]]) -> tuple[list[Tick], list[Tick]]:
    """The allergens to tick: those that matter here and those ticked already, and the others."""
    ticked = [name.removeprefix(TICK) for name in form.names() if name.startswith(TICK) and form.text(name)]
    shown = dict.fromkeys([*first, *ticked])
    return (
        [Tick(TICK + one, name_of_allergen(one)) for one in shown],
        [Tick(TICK + one, name) for one, name in others if one not in shown],
    )


def figures_of(form: Form) -> list[Figure]:
    """The figures to type: what most packets print, and what was typed already."""
    return [
        Figure(FIGURE + one.id, one.label, one.unit)
        for one in LABEL_MEASURES
        if one.id in USUAL_FIGURES or form.text(FIGURE + one.id)
    ]


def other_units() -> list[Figure]:
    """The fields for figures in other units than ours."""
    return [Figure(FIGURE + one, one, "") for one in OTHER_UNITS]


def said(typed: Mapping[str, Sequence[str]], language: str) -> dict[str, str]:
    """What a packet reads like, field by field: the words of the field to what stands in it."""
    words = page_catalogue(language)
    filled = {name: [one for one in some if one] for name, some in typed.items()}
    return {words.say(_part(name)): words.say(_in_words(name, some)) for name, some in filled.items() if some}


def _part(name: str) -> Message:
    """What a field is called."""
    if name.startswith(TICK):
        return Message("packets.tick", {"allergen": name_of_allergen(name.removeprefix(TICK))})
    if name.removeprefix(FIGURE) in OTHER_UNITS:
        return Message(f"foods.{name.removeprefix(FIGURE)}", {})
    if name.startswith(FIGURE):
        measure = next(one for one in LABEL_MEASURES if FIGURE + one.id == name)
        return Message("packets.figure", {"name": measure.label, "unit": measure.unit})
    return Message(f"packets.{name}", {})


def _in_words(name: str, typed: Sequence[str]) -> Message:
    """What stands in a field."""
    (first, *_more) = typed
    if name.startswith(TICK):
        return Message(f"packets.tick-{first}", {})
    if name == "claims":
        return Message("packets.several", {"some": [Message(f"packets.claim-{one}", {}) for one in typed]})
    if name == "holds":
        return Message("packets.holds-this", {}) if first == "0" else Message("packets.holds-days", {"n": int(first)})
    if name == "label_law":
        return Message(f"packets.law-{first}", {})
    if name in ("rounding", "facts_per"):
        return Message(f"packets.{name.removeprefix('facts_')}-{first}", {})
    return Message("packets.ticked-so", {}) if name == NO_WARNING else Message("packets.typed", {"text": first})
