"""What the first steps show: children, what each must not eat, what is usually set out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from service.jobs.allergens.lists import list_allergens
from service.jobs.household.foods.usual_foods import COUNTRY_WITHOUT_STANDARD
from service.jobs.lunch.standards import list_standards
from service.reference.foods.pictures import picture_of
from service.web.children.view import Choices, choices_of, month_in_words
from service.web.forms.form import Form
from service.web.language.chosen import text
from service.web.language.words import amount

COELIAC, COELIAC_WITH_OATS, LACTOSE = "coeliac disease", "coeliac disease with gluten-free oats", "lactose"
IN_WORDS = ((COELIAC, "start.coeliac"), (COELIAC_WITH_OATS, "start.coeliac-oats"), (LACTOSE, "start.lactose"))
"""What people have besides allergies: as it is stored, and the words on the page."""
NOT_TICKED = frozenset({"gluten_content", "lactose"})
"""Allergens of the law's lists that one of these says better."""
Options = list[tuple[str, str]]


@dataclass(frozen=True)
class ChildRow:
    """A child that is there: nickname, month of birth, the sentence on its standard."""

    id: str
    nickname: str
    born: str
    standard: str


@dataclass(frozen=True)
class ChildrenStep:
    """The context of ``start/children.html``. ``choices``: as on the page of a child."""

    children: list[ChildRow]
    choices: Choices
    form: Form


@dataclass(frozen=True)
class ChildAvoids:
    """One child's ticks, from the list of its country; the fields of the form carry its place."""

    id: str
    number: int
    nickname: str
    version: str
    allergens: Options


@dataclass(frozen=True)
class AvoidsStep:
    """The context of ``start/avoids.html``. ``conflicts``: nicknames of children that were changed meanwhile."""

    children: list[ChildAvoids]
    others: Options
    form: Form
    conflicts: list[str]


@dataclass(frozen=True)
class FoodTick:
    """A food to tick, in its portion. ``not_for``: nicknames; ``read_for``: of those for whom its packet is read first."""

    food: str
    name: str
    picture: str
    much: str
    not_for: list[str]
    read_for: list[str]


@dataclass(frozen=True)
class GroupTicks:
    """A group of foods; ``name``: what it will be called, ``take``: how many are taken, in words."""

    id: str
    name: str
    extra: bool
    foods: list[FoodTick]


@dataclass(frozen=True)
class FoodsStep:
    """The context of ``start/foods.html``. ``first``: no offer is there yet; ``say_kept``: how lunches are kept is not said."""

    groups: list[GroupTicks]
    form: Form
    first: bool
    say_kept: bool
    days: list[str]
    name: str
    countries: Options
    country: str


def children_step(children: Sequence[Mapping[str, Any]], form: Form, language: str) -> ChildrenStep:
    """The first step, with the children that are there."""
    choices = choices_of(form.text("standard"), form.text("year"), language)
    said = dict(choices.standards)
    rows = [
        ChildRow(
            one["id"],
            one["nickname"],
            month_in_words(one["birth_month"], language),
            said.get(one["standard"], one["standard"]),
        )
        for one in children
    ]
    return ChildrenStep(rows, choices, form)


def avoids_step(
    children: Sequence[Mapping[str, Any]], on: date, form: Form, conflicts: list[str], language: str
) -> AvoidsStep:
    """The second step: ticks from the law's list of each child's country, what else there is, and a field for the rest."""
    return AvoidsStep(
        [
            ChildAvoids(one["id"], number, one["nickname"], str(one["version"]), allergens_ticked(one["standard"], on))
            for number, one in enumerate(children)
        ],
        [(value, text(code, language)) for value, code in IN_WORDS],
        form,
        conflicts,
    )


def allergens_ticked(standard: str, on: date) -> Options:
    """The allergens that the law of a standard's country lists, by name."""
    where = next((one["jurisdiction"] for one in list_standards()["items"] if one["id"] == standard), None)
    known = list_allergens(None, None)["jurisdictions"]
    rows = list_allergens(where if where in known else COUNTRY_WITHOUT_STANDARD, on)["items"]
    return [(one["id"], one["name"]) for one in rows if one["listed"] is not None and one["id"] not in NOT_TICKED]


def groups_ticks(groups: Sequence[Mapping[str, Any]], names: Mapping[str, str], language: str) -> list[GroupTicks]:
    """The groups of ``usual_foods_for`` as ticks."""
    return [
        GroupTicks(
            group["id"],
            names[group["id"]],
            group["id"] == "extra",
            [
                FoodTick(
                    one["food"],
                    one["name"],
                    picture_of(one["name"], one["category"]),
                    amount(one["quantity"], one["unit"], language),
                    one["not_for"],
                    one["read_for"],
                )
                for one in group["foods"]
            ],
        )
        for group in groups
    ]
