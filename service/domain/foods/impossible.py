"""Figures of a label that cannot be right, whatever the food is: slips of the serving, of the unit, of a digit.

A rounded label keeps all of these rules within the rounding that is allowed for. Source: a part is not more than its whole, and
nothing weighs more than itself, by definition; the margins are ours.
"""

from collections.abc import Mapping
from typing import NamedTuple

from service.domain.measures import MEASURE_INDEX, MEASURES
from service.domain.messages import Message, message

PARTS = (
    ("saturated_fat_g", "fat_g"),
    ("sugars_g", "carbohydrate_g"),
    ("added_sugars_g", "sugars_g"),
    ("free_sugars_g", "sugars_g"),
    ("nmes_g", "sugars_g"),
)
MACROS = {"protein_g": 4, "fat_g": 9, "carbohydrate_g": 4}
"""What gives energy, with the kcal of a gram by the general factors (21 CFR 101.9(c)(1)(i)(B))."""
ENERGY, SODIUM = "energy_kcal", "sodium_mg"


class LabelLimits(NamedTuple):
    """From when on a figure cannot be right; reference_data/labels/other-units.toml.

    ``most_macros_percent``: protein, fat and carbohydrate together, of the weight. ``most_kcal_per_100_g``: more than pure fat.
    ``most_sodium_mg_per_g``: more than pure salt. ``heaviest_ml_g``: what 1 ml weighs at the most. ``rounding_g``,
    ``rounding_kcal``: how far rounding may bring figures apart. ``kilojoules_from``, ``kilojoules_to``: energy as a multiple of what
    the macros give, where it is kilojoules.
    """

    most_macros_percent: float
    most_kcal_per_100_g: float
    most_sodium_mg_per_g: float
    heaviest_ml_g: float
    rounding_g: float
    rounding_kcal: float
    kilojoules_from: float
    kilojoules_to: float


def impossible_figures(
    known: Mapping[str, float], size: float, by_weight: bool, limits: LabelLimits
) -> list[tuple[str, Message]]:
    """Each measure whose figure cannot be right, and why.

    ``known``: figures by measure, in the measure's unit, for ``size`` grams, or ml where not ``by_weight``.
    """
    found: list[tuple[str, Message]] = []
    for part, whole in parts_over_wholes(known, limits.rounding_g):
        of = MEASURES[MEASURE_INDEX[whole]].label
        found.append((part, message("fault.part-over-whole", whole=of, grams=_plain(known[whole]))))
    heaviest = size if by_weight else size * limits.heaviest_ml_g
    macros = {one: known[one] for one in MACROS if one in known}
    together = sum(macros.values())
    if together > heaviest * limits.most_macros_percent / 100 + limits.rounding_g:
        most = max(macros, key=lambda one: macros[one])
        found.append((most, message("fault.macros-over-weight", grams=_plain(together), weight=_plain(heaviest))))
    if known.get(SODIUM, 0) > heaviest * limits.most_sodium_mg_per_g:
        found.append((SODIUM, message("fault.more-than-salt", weight=_plain(heaviest))))
    energy = known.get(ENERGY, 0)
    expected = sum(MACROS[one] * grams for one, grams in macros.items())
    if energy > heaviest * limits.most_kcal_per_100_g / 100 + limits.rounding_kcal:
        found.append((ENERGY, message("fault.more-than-fat", weight=_plain(heaviest))))
    elif len(macros) == len(MACROS) and expected > limits.rounding_kcal:
        times = energy / expected
        if limits.kilojoules_from < times < limits.kilojoules_to:
            found.append((ENERGY, message("fault.perhaps-kilojoules", expected=_plain(expected))))
    return found


def parts_over_wholes(known: Mapping[str, float], by_g: float) -> list[tuple[str, str]]:
    """The parts, each with its whole, that are more than it by more than ``by_g`` grams.

    >>> parts_over_wholes({"saturated_fat_g": 9, "fat_g": 5, "sugars_g": 20}, 1.5)
    [('saturated_fat_g', 'fat_g')]
    """
    return [
        (part, whole) for part, whole in PARTS if {part, whole} <= known.keys() and known[part] > known[whole] + by_g
    ]


def _plain(amount: float) -> float:
    """Whole where it is whole, since a person reads it."""
    return int(amount) if amount == int(amount) else round(amount, 1)
