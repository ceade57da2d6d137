"""What a label counts as in US school meals, where a parent says which lunch food or kind of food it is like."""

from service.domain.errors import UnknownName
from service.domain.foods.amounts import near_names
from service.domain.foods.crediting import credits_from_grams_per_unit
from service.domain.foods.food import Credit, CreditOption
from service.domain.messages import message
from service.reference.foods.components import components
from service.reference.foods.generic_credits import generic_credit_rules, grams_per_unit_mg
from service.reference.foods.lunch_foods import lunch_foods

NOTHING = "nothing"


def credits_as(like: str, basis_mg: int) -> tuple[CreditOption, ...]:
    """The ways in which ``basis_mg`` of a food credits that is like a lunch food, or of a kind, weight for weight.

    Raises ``UnknownName`` with near names. Source: the lunch food's own, or reference_data/crediting/generic-foods.toml.

    >>> credits_as("bread", 28_000)[0].credits[0].per_basis  # 28 g of bread make one ounce equivalent
    Fraction(1, 1)
    >>> credits_as("nothing", 28_000)
    ()
    """
    if like == NOTHING:
        return ()
    rule = generic_credit_rules().get(like)
    grams_mg = None if rule is None else grams_per_unit_mg(rule, None)
    if rule is not None and grams_mg is not None:
        return (CreditOption(like, credits_from_grams_per_unit(components()[rule.component], grams_mg, basis_mg)),)
    food = lunch_foods().get(like)
    if food is not None:
        return tuple(
            CreditOption(
                option.name,
                tuple(Credit(one.measure, one.per_basis * basis_mg / food.basis_mg) for one in option.credits),
            )
            for option in food.credit_options
        )
    kinds = [rule.id for rule in generic_credit_rules().values() if rule.component]
    raise UnknownName(
        value=like,
        kind=message("kind.counts-as"),
        near=near_names(like, [*kinds, *lunch_foods().rows()]),
        known=message("help.counts-as", nothing=NOTHING, kinds=kinds),
    )


def counts_as_discretionary(like: str) -> bool:
    """Whether what a food counts as is a sweet or a snack: a lunch food that is one, or a grain-based dessert.

    >>> counts_as_discretionary("gum-drops"), counts_as_discretionary("cookies"), counts_as_discretionary("bread")
    (True, True, False)
    """
    rule = generic_credit_rules().get(like)
    if rule is not None:
        return rule.component == "grain_dessert"
    food = lunch_foods().get(like)
    return food is not None and food.discretionary
