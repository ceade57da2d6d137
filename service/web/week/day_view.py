"""What the page of one day of a child shows, and the lunch that its form says."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from service.domain.offers.taking import Key
from service.web.forms.form import Form
from service.web.forms.numbers import figure, number_of
from service.web.language.words import amount
from service.web.taking.view import key_of, key_text

KEPT, FOOD = "kept", "food"
GRAMS = "g"


@dataclass(frozen=True)
class ItemRow:
    """An item of the lunch as the form holds it.

    ``what``: an item of the stored lunch by its place and food (``kept~0~apple``), or a food by its id (``food~apple``).
    """

    what: str
    name: str
    quantity: str
    unit: str
    units: list[str]


@dataclass(frozen=True)
class SetOut:
    """An item of what is set out that day."""

    value: str
    name: str
    much: str
    cut: str


@dataclass(frozen=True)
class FoundFood:
    """A food that was searched for."""

    id: str
    name: str


@dataclass(frozen=True)
class DayView:
    """The context of ``week/day.html``.

    ``version``: of the stored lunch, empty where there is none. ``menu``: the school's meal of the day, or empty.
    ``not_for``: what speaks against packing it; then ``reason`` is asked for. ``theirs``: the items another device stored
    meanwhile, or None.
    """

    child: str
    nickname: str
    date: str
    week: str
    version: str
    form: Form
    rows: list[ItemRow]
    set_out: list[tuple[str, list[SetOut]]]
    found: list[FoundFood] | None
    menu: str
    not_for: list[tuple[str, str]] = field(default_factory=list)
    ask_reason: bool = False
    theirs: list[str] | None = None


class FoodShown(NamedTuple):
    """A food as rows name it, and the units that it can be given in."""

    name: str
    units: list[str]


def form_of(lunch: Mapping[str, Any] | None, *, buys: bool) -> Form:
    """The form as it is before anything is typed: the stored lunch, or what the school day says."""
    if lunch is None:
        return Form({"kind": ["bought" if buys else "packed"]})
    items = lunch["items"]
    return Form(
        {
            "kind": [lunch["kind"]],
            "what": [f"{KEPT}~{place}~{_id_of(item['food'])}" for place, item in enumerate(items)],
            "quantity": [figure(item["quantity"]) for item in items],
            "unit": [item["unit"] or "" for item in items],
            "menu-name": ["" if lunch["menu"] is None else lunch["menu"]["name"]],
            "reason": [(lunch["acknowledged"] or {}).get("reason", "")],
        }
    )


def with_added(form: Form, usual: Mapping[str, tuple[float, str]]) -> Form:
    """The form with ticked foods among its items, in their usual portions, and without those that were ticked to go."""
    drop = set(form.texts("drop"))
    rows = [
        row
        for place, row in enumerate(zip(form.texts("what"), form.texts("quantity"), form.texts("unit"), strict=False))
        if str(place) not in drop
    ]
    rows += [(f"{FOOD}~{one}", figure(usual[one][0]), usual[one][1]) for one in form.texts("add") if one in usual]
    kept = {name: form.texts(name) for name in ("kind", "take", "q", "menu-name", "reason", "version")}
    columns = zip(*rows, strict=True) if rows else iter(((), (), ()))
    what, quantity, unit = (list(column) for column in columns)
    return Form({**kept, "what": what, "quantity": quantity, "unit": unit})


def rows_of(form: Form, named: Mapping[str, FoodShown]) -> list[ItemRow]:
    """The rows of a form; ``named``: of every ``what`` in it."""
    rows = []
    for what, quantity, unit in zip(form.texts("what"), form.texts("quantity"), form.texts("unit"), strict=False):
        food = named[what]
        rows.append(ItemRow(what, food.name, quantity, unit, list(dict.fromkeys([unit or "", *food.units, GRAMS]))))
    return rows


def set_out_of(groups: Sequence[Mapping[str, Any]], language: str) -> list[tuple[str, list[SetOut]]]:
    """What may be ticked from what is set out, by its groups."""
    return [
        (
            group["id"],
            [
                SetOut(
                    key_text((group["id"], item["item"])),
                    item["name"],
                    amount(item["quantity"], item["unit"], language),
                    item["cut"],
                )
                for item in group["items"]
            ],
        )
        for group in groups
        if group["items"]
    ]


def items_of(
    form: Form, before: Mapping[str, Any] | None, offered: Mapping[Key, Mapping[str, Any]], language: str
) -> tuple[list[dict[str, Any]], dict[int, int]]:
    """The items that a form says, and the new place of each item of the stored lunch by its old one.

    A quantity that is no number is left as text, for the lunch's model to refuse with its place.
    """
    items: list[dict[str, Any]] = []
    moved: dict[int, int] = {}
    for what, quantity, unit in zip(form.texts("what"), form.texts("quantity"), form.texts("unit"), strict=False):
        place, food = kept_place(what, [] if before is None else before["items"])
        item: dict[str, Any] = {"food": food}
        if place is not None and before is not None:
            moved[place] = len(items)
            item = {key: value for key, value in before["items"][place].items() if value is not None}
        items.append({**item, "quantity": _quantity(quantity, language), "unit": unit or None})
    items += [dict(offered[key_of(one)]) for one in form.texts("take") if key_of(one) in offered]
    return items, moved


def kept_place(what: str, items: Sequence[Mapping[str, Any]]) -> tuple[int | None, Any]:
    """The place of an item in the stored lunch, if it is still there with the same food, and its food.

    Where another device changed the lunch meanwhile, the food is what the form was made with.
    """
    kind, _between, name = what.partition("~")
    if kind != KEPT:
        return None, name
    at, _between, food = name.partition("~")
    if at.isdecimal() and int(at) < len(items) and _id_of(items[int(at)]["food"]) == food:
        return int(at), items[int(at)]["food"]
    return None, food


def _id_of(food: Any) -> str:
    """What tells a food from another; nothing for one that the lunch itself holds in full."""
    return food if isinstance(food, str) else ""


def _quantity(text: str, language: str) -> float | str:
    read = number_of(text, language)
    return text if read is None else float(read)
