"""A food as pages show it: one of a list with its picture, and what it comes to in words."""

from dataclasses import dataclass
from typing import Any, Literal

from babel.numbers import format_decimal

from service.reference.foods.pictures import picture_of
from service.reference.message_templates import FRACTIONS
from service.web.language.chosen import text

Kind = Literal["table", "own", "dish"]
MAIN_GROUPS = (
    "fluid_milk_cup",
    "meat_alternate_oz_eq",
    "whole_grain_rich_oz_eq",
    "grain_oz_eq",
    "grain_dessert_oz_eq",
    "fruit_cup",
    "vegetable_cup",
    "vegetable_legume_cup",
)
"""The groups that are named in words; the others are kinds of these."""
INSTEAD = {
    "grain_oz_eq": ("whole_grain_rich_oz_eq", "grain_dessert_oz_eq"),
    "vegetable_legume_cup": ("vegetable_cup",),
}
"""Groups that go without saying where one of these is named."""


@dataclass(frozen=True)
class FoodRow:
    """One food of a list: where its page is, and which kind it is in words (empty for a lunch food)."""

    id: str
    name: str
    picture: str
    kind: str
    address: str


@dataclass(frozen=True)
class Comes:
    """What a usual portion comes to, in sentences; what is not known, each with how to find out; figures; packets to read.

    ``figures``: label, amount with its unit, or None where it is not known.
    """

    sentences: list[str]
    unknown: list[str]
    figures: list[tuple[str, str | None]]
    to_read: list[dict[str, Any]]


def food_row(found: dict[str, Any], language: str, *, among_own: bool = False) -> FoodRow:
    """A row from the job's (``jobs.foods.search``). ``among_own``: all of the list are own ones, so none is called so."""
    own = found["kind"].startswith("own_") and not among_own
    recipe = found["kind"] == "own_recipe"
    return FoodRow(
        found["id"],
        found["name"],
        picture_of(found["name"], found["category"]),
        text(f"foods.kind-{found['kind'].replace('_', '-')}", language) if own else "",
        f"/{'dishes' if recipe else 'foods'}/{found['id']}",
    )


def comes_to(known: dict[str, Any], kind: Kind, language: str) -> Comes:
    """What a food comes to (``jobs.household.own_foods.food_as_known``) in the page's language."""

    def said(code: str, **values: Any) -> str:
        return text(f"foods.{code}", language, **values)

    portion = known["portion"]
    sentences = [
        said("portion-of-dish" if kind == "dish" else "portion", **{**portion, "grams": round(portion["grams"])})
    ]
    unknown = []
    if known["slices"] is None:
        unknown.append(said("energy-unknown"))
    elif known["slices"] <= 0.5:
        sentences.append(said("energy-half" if known["slices"] else "energy-hardly"))
    else:
        whole, part = divmod(known["slices"], 1)
        sentences.append(said("energy", slices=known["slices"], shown=f"{whole:g}{FRACTIONS.get(part, '')}"))
    groups = [_group_words(one, language) for one in known["groups"]]
    ways = [one for one in groups if one]
    if ways:
        code = "counts-as" if len(ways) == 1 else "counts-as-either"
        sentences.append(said(code, what=ways[0] if len(ways) == 1 else [said("together", what=one) for one in ways]))
    elif known["groups_known"]:
        sentences.append(said("counts-as-nothing"))
    if not known["groups_known"]:
        of = known["not_counted"]
        unknown.append(said("groups-unknown-of", what=of) if of else said("groups-unknown"))
    if known["contains"]:
        sentences.append(said("contains", what=known["contains"]))
    if known["may_contain"]:
        sentences.append(said("may-contain", what=known["may_contain"]))
    if not known["label_read"]:
        unknown.append(said(f"label-unread-{kind}"))
    figures = [
        (one["label"], None if one["amount"] is None else _amount(one["amount"], one["unit"], language))
        for one in known["figures"]
    ]
    return Comes(sentences, unknown, figures, known["to_read"])


def _group_words(groups: list[str], language: str) -> list[str]:
    named = [one for one in MAIN_GROUPS if one in groups]
    named = [one for one in named if not any(other in named for other in INSTEAD.get(one, ()))]
    return [text(f"foods.group-{one.replace('_', '-')}", language) for one in named]


def _amount(value: float, unit: str, language: str) -> str:
    digits = 0 if value >= 100 else 1 if value >= 1 else 2
    return f"{format_decimal(round(value, digits), locale=language)} {unit}"
