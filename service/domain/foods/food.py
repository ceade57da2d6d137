"""A food in the form the engine works on: values for a stated amount, credits, allergens, forms.

Lunch foods, generic foods, recipes and foods read from a label all become a ``Food``; the engine
knows no other kind. Values are thousandths for ``basis_mg`` of the food; ``None`` is unknown,
never zero.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, NamedTuple

from service.domain.messages import Message, message

Level = Literal["contains", "may_contain", "unknown", "label_not_seen", "free"]
Basis = Literal["nature", "usual_recipe", "read_label", "label_statement", "name", "category", "recipe", "none"]
FoodKind = Literal["lunch_food", "generic_food", "recipe", "label"]

LEVEL_RANK: dict[Level, int] = {"contains": 4, "unknown": 3, "label_not_seen": 2, "may_contain": 1, "free": 0}
"""Which level wins when foods are put together.

``unknown``: no label was read, and the allergen is often in such foods or nothing is known of them. ``label_not_seen``:
no label was read, and it is not usual in them. Both outrank ``may_contain``: a label still to be read may turn out worse
than the warning already seen, which is kept beside it (``warned``).
"""
UNREAD: frozenset[Level] = frozenset({"unknown", "label_not_seen"})
"""The levels that reading a label settles."""


class Containment(NamedTuple):
    """What is known of one allergen in one food: the level, on what basis, and the words seen.

    ``warned``: a label is still to be read (``UNREAD``), and a warning (may contain) was seen besides.
    """

    level: Level
    basis: Basis
    evidence: Message | None = None
    warned: bool = False


def worse(one: Containment, other: Containment) -> Containment:
    """The graver of two findings on the same allergen; a warning is not lost next to a label not read.

    The first is kept where both are as grave.
    """
    graver, lesser = (other, one) if LEVEL_RANK[other.level] > LEVEL_RANK[one.level] else (one, other)
    if graver.level in UNREAD and not graver.warned and (lesser.level == "may_contain" or lesser.warned):
        parts = [part for part in (lesser.evidence, graver.evidence) if part is not None]
        evidence = message("evidence.several", parts=parts) if len(parts) > 1 else (*parts, None)[0]
        return Containment(graver.level, graver.basis, evidence, warned=True)
    return graver


UNKNOWN = Containment("unknown", "none", message("evidence.no-ingredients"))


class AllergenProfile(NamedTuple):
    """Allergens of one food by id; ``others`` holds for every allergen not named."""

    named: Mapping[str, Containment]
    others: Containment = UNKNOWN
    parts: tuple["AllergenProfile", ...] = ()
    """The profiles a dish was put together from: what one label says of a group must not be read with another's."""
    not_read: Message | None = None
    """That a statement on the label, or on the packet, was given and could not be read."""

    def statements_not_read(self) -> Iterator[Message]:
        """Of the food and of the parts of a dish."""
        if self.not_read is not None:
            yield self.not_read
        for part in self.parts:
            yield from part.statements_not_read()

    def of(self, allergen: str) -> Containment:
        """The containment of one allergen id."""
        return self.named.get(allergen, self.others)


class HouseholdUnit(NamedTuple):
    """A household portion: its plain name (``slice``) and its weight in milligrams."""

    name: str
    grams_mg: int
    source: str = ""


class Credit(NamedTuple):
    """Food-group credit for ``basis_mg`` of the food, before rounding: cups or ounce equivalents."""

    measure: int
    per_basis: Fraction


@dataclass(frozen=True, slots=True, eq=False)
class CreditOption:
    """One way a food may credit; most foods have one, beans have two (vegetable or meat alternate)."""

    name: str
    credits: tuple[Credit, ...]


class Piece(NamedTuple):
    """One ingredient of a dish whose pieces may matter: its name, choking rule, and form where it is said.

    ``known``: whether anything is known of its pieces.
    """

    name: str
    choking_rule: str
    form: str | None
    known: bool


class Handling(NamedTuple):
    """How a food is cut, kept and frozen.

    ``forms``: forms it is served in, the usual one first. ``choking_rule``: id of the rule in
    reference_data/handling that speaks of its pieces, or empty. ``perishable``: needs cold (or hot)
    holding; ``None`` is unknown and treated as perishable.
    """

    forms: tuple[str, ...] = ()
    choking_rule: str = ""
    perishable: bool | None = None
    storage: str = ""
    freezing: str = ""
    pieces: tuple[Piece, ...] = ()
    """The ingredients of a dish that a choking rule speaks of, or of which nothing is known."""
    choking_known: bool = True
    """Whether anything is known of its pieces; False: it is not known whether a rule speaks of them."""


Figure = int | Fraction
"""Thousandths for a food's ``basis_mg``: whole in a table, an exact fraction in a dish or where a label prints more places."""


def whole_if_so(figure: Fraction) -> Figure:
    """The figure as a whole number where it is one.

    >>> whole_if_so(Fraction(4, 2)), whole_if_so(Fraction(1, 2))
    (2, Fraction(1, 2))
    """
    return figure.numerator if figure.denominator == 1 else figure


class PartlyKnown(NamedTuple):
    """A figure of which only a part is known: the known part, the least the whole can be, and the most (None: no end).

    Thousandths for the food's ``basis_mg``.
    """

    known: Figure
    least: Figure
    most: Figure | None


NOTHING_KNOWN = PartlyKnown(0, 0, None)


@dataclass(frozen=True, slots=True, eq=False)
class Food:
    """One food, ready for the engine (compared and hashed by identity).

    ``nutrients``: one entry per nutrient measure (``NUTRIENT_COUNT``), thousandths for
    ``basis_mg``, whole except in a dish; ``None`` unknown. ``ranges``: measure index -> (lowest, highest) where a printed
    label figure stands for an interval. ``partly``: measure index -> what is known where the value is None (a
    dish of which one ingredient has no figure). ``estimated``: measure index -> how the value was estimated.
    ``weighable``: grams may be used; False for a label that gives its serving only as a count.
    """

    id: str
    name: str
    kind: FoodKind
    basis_mg: int
    nutrients: tuple[Figure | None, ...]
    source: str
    ranges: Mapping[int, tuple[Figure, Figure]] = field(default_factory=dict)
    partly: Mapping[int, PartlyKnown] = field(default_factory=dict)
    estimated: Mapping[int, str] = field(default_factory=dict)
    credit_options: tuple[CreditOption, ...] = ()
    units: tuple[HouseholdUnit, ...] = ()
    allergens: AllergenProfile = AllergenProfile({})  # noqa: RUF009 - a named tuple, as fixed as a number
    handling: Handling = Handling()  # noqa: RUF009 - as above
    category: str = ""
    product_kind: str = ""
    editions: frozenset[str] = frozenset()
    weighable: bool = True
    credits_known: bool = True
    """Whether its food-group credits are known; False: what is given is the least it credits."""
    search_words: tuple[str, ...] = ()
    note: str = ""
    everyday: bool = False
    """Often found in packed lunches (a judgement of ours): the first to be suggested."""

    discretionary: bool = False
    """A sweet, a dessert, a sweet drink or a savoury snack, as far as is known (a judgement of ours)."""

    uncredited_parts: tuple[str, ...] = ()
    """Of a dish: the names of the foods in it whose credits are not known."""

    made_of: tuple["Food", ...] = field(default=(), repr=False)
    """Of a dish: the foods in it, and for a dish in it those in that one."""

    @property
    def uncredited(self) -> tuple[str, ...]:
        """The names of the foods whose credits are not known: its own, or those in a dish."""
        return () if self.credits_known else self.uncredited_parts or (self.name,)

    def unit(self, name: str) -> HouseholdUnit | None:
        """The household unit of that name, or None."""
        for unit in self.units:
            if unit.name == name:
                return unit
        return None
