"""The units and words of ingredient lines, as their reader knows them; they come from reference_data/recipes."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

UnitKind = Literal["mass", "volume", "container", "piece", "loose"]
ANY_COUNTRY = "other"
"""Stands for every country that no row of a unit names."""


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of ingredient lines.

    ``sizes``: by country (ISO 3166), in milligrams of a ``mass`` and microlitres of a ``volume``; other kinds have none.
    ``after_food``: its word may stand behind the food ("garlic cloves").
    """

    id: str
    kind: UnitKind
    sizes: Mapping[str, Fraction]
    after_food: bool = False

    @property
    def measures(self) -> bool:
        """Whether it says how much by itself: a weight or a volume."""
        return self.kind in ("mass", "volume")

    def size(self, country: str | None) -> Fraction | None:
        """Its size in a country, in milligrams or microlitres; None where it has to be asked.

        ``country``: two capital letters, or None for not known.
        """
        if country is not None and country in self.sizes:
            return self.sizes[country]
        return self.sizes.get(ANY_COUNTRY)


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """The units by their words, and the other words that the reader knows. All in lower case, but for ``exact``."""

    units: Mapping[str, Unit]
    exact: Mapping[str, Unit]
    """Words that count only as they are written: "T"."""
    by_id: Mapping[str, Unit]
    numbers: Mapping[str, Fraction]
    about: frozenset[str]
    sizes: frozenset[str]
    heaped: frozenset[str]
    vague: frozenset[str]
    compounds: frozenset[str]
    """Two words, of which the first is no unit: "pound cake"."""
    preparations: frozenset[str]
    manners: frozenset[str]
    kept_with: frozenset[str]
    parts: frozenset[str]
    describing: frozenset[str]
    no_other_food: frozenset[str]
    plain_kinds: frozenset[str]
    notes: tuple[str, ...]
    notes_behind_a_comma: frozenset[str]
    one_food: tuple[str, ...]
    poured: frozenset[str]
