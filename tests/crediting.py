"""Credits by the id of a component, as tests write them."""

from fractions import Fraction

from service.domain.foods import crediting
from service.domain.foods.food import Credit
from service.reference.foods.components import components

COMPONENT_MEASURES = components()


def credits_from_amount(component: str, amount: Fraction) -> tuple[Credit, ...]:
    """Credits of a food whose basis makes so many units of a component."""
    return crediting.credits_from_amount(COMPONENT_MEASURES[component], amount)


def credits_from_grams_per_unit(component: str, grams_mg_per_unit: int, basis_mg: int) -> tuple[Credit, ...]:
    """Credits of a food of which so much makes one unit of a component."""
    return crediting.credits_from_grams_per_unit(COMPONENT_MEASURES[component], grams_mg_per_unit, basis_mg)
