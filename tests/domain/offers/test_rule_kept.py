"""A lunch against the family's rule, by hand and against every lunch the offer allows."""

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.offers.branches import branches
from service.domain.offers.offer import ChoiceGroup, Offer, Take, WithRule
from service.domain.offers.rule_kept import broken_rules

ONE = Take(1, 1)
OFFER = Offer(
    (
        ChoiceGroup("mains", ("wrap", "soup"), ONE),
        ChoiceGroup("fruit", ("apple", "pear"), ONE),
        ChoiceGroup("sides", ("pea", "apple"), Take(0, 1)),
        ChoiceGroup("drinks", ("milk", "water"), ONE),
        ChoiceGroup("treats", ("bar",), Take(1, 2, repeats=True)),
    ),
    alternatives=(("drinks", "treats"),),
    rules=(WithRule("mains", "soup", "fruit", Take(2, 2)),),
)
FOODS = ("wrap", "soup", "apple", "pear", "pea", "milk", "water", "bar", "cake")
NAMES = {food: food for food in FOODS}


def codes(*foods: str) -> list[str]:
    return [one.code.removeprefix("rule-kept.") for one in broken_rules(OFFER, foods, NAMES)]


def test_by_hand() -> None:
    assert codes("wrap", "apple", "milk") == []
    assert codes("wrap", "apple", "apple", "milk") == []  # one as the fruit, one as the side
    assert codes("soup", "apple", "milk") == ["number"]  # with soup two fruits
    assert codes("soup", "apple", "pear", "bar", "bar") == []
    assert codes("wrap", "apple", "milk", "bar") == ["one-of"]
    assert codes("wrap", "apple", "milk", "cake") == ["not-on-offer"]
    assert codes("wrap", "apple") == ["number"]


@settings(deadline=None)
@given(st.lists(st.sampled_from(FOODS), max_size=6))
def test_a_lunch_keeps_the_rule_just_where_the_offer_allows_it(foods: list[str]) -> None:
    """The yardstick: all lunches of the offer laid out."""
    allowed = {
        tuple(sorted(key for option in chosen for key in option.items))
        for branch in branches(OFFER)
        for chosen in product(*branch.lists)
    }
    assert (not broken_rules(OFFER, foods, NAMES)) == (tuple(sorted(foods)) in allowed)
