"""Offers laid out as branches: counts by hand, and every combination against the rule in words (brute force)."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.errors import BadInput, UnknownName
from service.domain.offers.branches import Branch, Option, branches, options_of
from service.domain.offers.offer import (
    ChoiceGroup,
    Offer,
    Take,
    WithRule,
    check_offer,
    rules_not_kept,
    rules_that_clash,
    ways_to_take,
    without,
)
from tests.refused import refused

ONE = Take(1, 1)
MAINS = ChoiceGroup("mains", ("wrap", "pasta", "soup"), ONE)
FRUIT = ChoiceGroup("fruit", ("apple", "pear", "plum"), ONE)
VEGETABLES = ChoiceGroup("vegetables", ("carrot", "pea"), Take(0, 2))
DRINKS = ChoiceGroup("drinks", ("milk", "water"), ONE)


def how_many(offer: Offer) -> int:
    """How many combinations an offer allows."""
    return sum(branch.size for branch in branches(offer))


def test_a_hand_count() -> None:
    """3 mains x 3 fruit x (none, 2 single, 1 pair of vegetables = 4) x 2 drinks = 72 (counted by hand)."""
    assert how_many(Offer((MAINS, FRUIT, VEGETABLES, DRINKS))) == 72


def test_groups_that_stand_in_for_each_other_add_up() -> None:
    """A fruit or up to two vegetables: 3 + 4 = 7 ways; with 3 mains 21 (by hand)."""
    assert how_many(Offer((MAINS, FRUIT, VEGETABLES), alternatives=(("fruit", "vegetables"),))) == 21


def test_with_the_soup_two_fruits_are_taken() -> None:
    """Wrap or pasta: 2 x 3; soup: 1 x 3 pairs; 9 in all (by hand)."""
    offer = Offer((MAINS, FRUIT), rules=(WithRule("mains", "soup", "fruit", Take(2, 2)),))
    assert how_many(offer) == 9
    assert len(branches(offer)) == 2


def test_taking_the_same_again() -> None:
    """Two of three with repeats: 3 + 3 pairs = 6 (by hand)."""
    assert ways_to_take(3, Take(2, 2, repeats=True)) == 6
    assert len(options_of(FRUIT, Take(2, 2, repeats=True))) == 6


def test_nothing_to_take_from_is_no_combination() -> None:
    offer = without(Offer((MAINS, FRUIT)), {"fruit": frozenset({"apple", "pear", "plum"})})
    assert how_many(offer) == 0


def test_what_does_not_hang_together_is_refused() -> None:
    with refused(BadInput, match="appears twice"):
        check_offer(Offer((MAINS, MAINS)))
    with refused(UnknownName, match="not a known group"):
        check_offer(Offer((MAINS,), alternatives=(("mains", "sides"),)))
    with refused(UnknownName, match="not a known item"):
        check_offer(Offer((MAINS, FRUIT), rules=(WithRule("mains", "bread", "fruit", ONE),)))
    with refused(BadInput, match="group of the item itself"):
        check_offer(Offer((MAINS, FRUIT), rules=(WithRule("mains", "soup", "mains", ONE),)))


@st.composite
def offers(draw: st.DrawFn) -> Offer:
    groups = []
    for place in range(draw(st.integers(1, 4))):
        count = draw(st.integers(1, 3))
        low = draw(st.integers(0, 1))
        take = Take(low, draw(st.integers(low, 2)), draw(st.booleans()))
        groups.append(ChoiceGroup(f"g{place}", tuple(f"{place}{letter}" for letter in "abc"[:count]), take))
    alternatives = (("g0", "g1"),) if len(groups) > 1 and draw(st.booleans()) else ()
    rules = []
    for _ in range(draw(st.integers(0, 3))):
        first, then = draw(st.sampled_from(groups)), draw(st.sampled_from(groups))
        if first.id == then.id or {first.id, then.id} == {"g0", "g1"}:
            continue
        low = draw(st.integers(0, 2))
        take = Take(low, draw(st.integers(low, 2)), draw(st.booleans()))
        rules.append(WithRule(first.id, draw(st.sampled_from(first.items)), then.id, take))
    return Offer(tuple(groups), alternatives, tuple(dict.fromkeys(rules)))


def by_the_words(offer: Offer) -> set[tuple[Option, ...]]:
    """Every combination allowed, straight from what the words say: choose anything, keep what obeys."""
    slots = []
    for group in offer.groups:
        together = next((one for one in offer.alternatives if group.id in one), (group.id,))
        if together not in slots:
            slots.append(together)
    loose = Take(0, 2, repeats=True)
    found = set()
    for chosen in product(*([o for g in slot for o in options_of(offer.group(g), loose)] for slot in slots)):
        takes = {group.id: [group.take] for group in offer.groups}
        called: dict[str, list[Take]] = {}
        for rule in offer.rules:
            if any(option.group == rule.group and rule.item in option.items for option in chosen):
                called.setdefault(rule.then_group, []).append(rule.take)
        takes.update(called)
        if all(
            max(t.at_least for t in takes[o.group]) <= len(o.items) <= min(t.at_most for t in takes[o.group])
            and (all(t.repeats for t in takes[o.group]) or len(set(o.items)) == len(o.items))
            for o in chosen
        ):
            found.add(chosen)
    return found


@pytest.mark.property
@settings(max_examples=300, deadline=None)
@given(offers())
def test_branches_hold_every_allowed_combination_once(offer: Offer) -> None:
    as_branch = [lunch_of(combination) for branch in branches(offer) for combination in _all(branch)]
    assert len(as_branch) == len(set(as_branch)) == how_many(offer)
    assert set(as_branch) == {lunch_of(combination) for combination in by_the_words(offer)}


def lunch_of(combination: tuple[Option, ...]) -> tuple[Option, ...]:
    """What is taken; of several groups that stand in for each other, nothing from one is nothing from another."""
    return tuple(option for option in combination if option.items)


def test_nothing_from_either_of_two_groups_is_one_lunch() -> None:
    """A fruit, or a drink, or nothing: 3 + 2 + 1 = 6 (by hand)."""
    fruit, drinks = (ChoiceGroup(group.id, group.items, Take(0, 1)) for group in (FRUIT, DRINKS))
    assert how_many(Offer((fruit, drinks), alternatives=(("fruit", "drinks"),))) == 6


def _all(branch: Branch) -> list[tuple[Option, ...]]:
    return list(product(*branch.lists))


def test_the_same_rule_twice_is_one_rule() -> None:
    """Wrap or pasta: 2 x 3; soup: 1 x 3 pairs; 9 in all (by hand), however often the rule is given."""
    rule = WithRule("mains", "soup", "fruit", Take(2, 2))
    assert how_many(Offer((MAINS, FRUIT), rules=(rule, rule, rule))) == 9


def test_a_rule_with_too_many_ways_is_refused_before_they_are_laid_out() -> None:
    """Six of 400 with repeats: C(405, 6) is about 6e12."""
    many = ChoiceGroup("sides", tuple(f"side {number}" for number in range(400)), ONE)
    rule = WithRule("mains", "soup", "sides", Take(6, 6, repeats=True))
    with refused(BadInput, match="more ways to take from one group than are laid out"):
        check_offer(Offer((MAINS, many), rules=(rule,)))


def test_rules_that_together_are_too_much_work_are_refused() -> None:
    """Eight rules call up 256 branches; each lays out 4,950 pairs of a hundred items."""
    mains = ChoiceGroup("mains", tuple(f"main {number}" for number in range(8)), ONE)
    sides = ChoiceGroup("sides", tuple(f"side {number}" for number in range(100)), ONE)
    rules = tuple(WithRule("mains", f"main {number}", "sides", Take(2, 2)) for number in range(8))
    check_offer(Offer((mains, sides), rules=rules[:5]))
    with refused(BadInput, match="with all rules together"):
        check_offer(Offer((mains, sides), rules=rules))


@pytest.mark.property
@settings(max_examples=100, deadline=None)
@given(offers())
def test_no_lunch_holds_two_items_whose_rules_clash(offer: Offer) -> None:
    """The yardstick: every lunch that the words of the offer allow."""
    clashing = rules_that_clash(offer)
    for one, other in clashing:
        for lunch in by_the_words(offer):
            taken = {(option.group, key) for option in lunch for key in option.items}
            assert not {one[:2], other[:2]} <= taken


def test_rules_of_one_item_that_contradict_cannot_be_kept() -> None:
    one, two = (WithRule("mains", "soup", "fruit", Take(number, number)) for number in (1, 2))
    assert rules_not_kept(Offer((MAINS, FRUIT), rules=(one, two))) == (one, two)
    assert rules_not_kept(Offer((MAINS, FRUIT), rules=(two,))) == ()
