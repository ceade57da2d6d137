"""Laws of offers that cannot go wrong where rules and alternatives stand between groups: against every lunch, one by one."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations, product
from random import Random

import pytest

from service.domain.offers.branches import branches
from service.domain.offers.offer import ChoiceGroup, Offer, Take, WithRule, without
from service.domain.plan.robust import Candidates, Row, Sized
from service.jobs.plan.designs.cases import cases_of
from service.planning.offer_model import ChildToServe, Width, design

pytestmark = pytest.mark.property

GROUPS = {"main": ("a", "b", "c"), "side": ("d", "e", "f"), "drink": ("g", "h")}
WEIGHTS = {(group, food): 1.0 + place for group, foods in GROUPS.items() for place, food in enumerate(foods)}
WIDTH = Width(1, 2)
Sizes = Mapping[tuple[str, str], int]


def drawn(draw: Random) -> tuple[ChildToServe, Offer]:
    """A child with three groups, up to two sizes a food, two rows, and a rule or two, or alternatives."""
    groups, taken = [], []
    for group, foods in GROUPS.items():
        least = draw.choice((0, 1, 1))
        most = draw.choice((1, 1, 2)) if group == "main" else 1
        sized = {
            food: tuple(Sized(size, (draw.randint(-3, 8), draw.randint(-8, 3))) for size in range(draw.choice((1, 2))))
            for food in foods
        }
        groups.append(Candidates(group, sized, least, most, False, draw.choice((1, 2))))
        taken.append(ChoiceGroup(group, foods, Take(least, most)))
    rows = [Row("most", "at most", draw.randint(4, 20)), Row("least", "at least", draw.randint(-8, 8), short=True)]
    rules = [WithRule("main", draw.choice("ab"), "side", draw.choice((Take(0, 0), Take(1, 1), Take(0, 1))))]
    if draw.random() < 0.5:
        rules.append(WithRule("drink", "g", "side", draw.choice((Take(0, 0), Take(1, 1)))))
    alternatives: tuple[tuple[str, ...], ...] = ()
    if draw.random() < 0.4:
        alternatives, rules = (("main", "drink"),), rules[:1] if draw.random() < 0.5 else []
    return ChildToServe("child", rows, groups), Offer(tuple(taken), alternatives, tuple(rules))


def of_foods(offer: Offer, chosen: Mapping[str, Sequence[str]]) -> Offer:
    gone = {group.id: frozenset(group.items) - frozenset(chosen[group.id]) for group in offer.groups}
    return without(offer, gone)


def all_right(child: ChildToServe, offer: Offer, sizes: Sizes) -> bool:
    """Whether every lunch of the offer keeps every row: all of them, item by item."""
    foods = {(one.group, food): some for one in child.groups for food, some in one.foods.items()}
    for branch in branches(offer):
        for lunch in product(*branch.lists):
            keys = [key for option in lunch for key in option.keyed()]
            for place, row in enumerate(child.rows):
                if sum(foods[key][sizes[key]].values[place] for key in keys) > row.bound:
                    return False
    return True


def offers(child: ChildToServe, offer: Offer) -> Iterator[dict[str, tuple[str, ...]]]:
    """The choices of foods that may be found: enough of each group, and one of those without a rule."""
    some = []
    for one in child.groups:
        with_rule = {rule.item for rule in offer.rules if rule.group == one.group}
        certain = max(1, one.choices - len(with_rule))
        some.append(
            [
                few
                for number in range(max(one.choices, WIDTH.least), WIDTH.most + 1)
                for few in combinations(GROUPS[one.group], number)
                if not with_rule or len(set(few) - with_rule) >= certain
            ]
        )
    yield from (dict(zip(GROUPS, chosen, strict=True)) for chosen in product(*some))


@pytest.mark.parametrize("seed", range(120))
def test_with_rules_and_alternatives_an_offer_is_found_exactly_where_there_is_one(seed: int) -> None:
    child, offer = drawn(Random(seed))  # noqa: S311 - seeded, no secret
    found = design(cases_of(child, offer), dict.fromkeys(GROUPS, WIDTH), WEIGHTS, seconds=10)
    if found is not None:
        sizes = {(group, food): size for group, mine in found.sizes["child"].items() for food, size in mine.items()}
        assert all_right(child, of_foods(offer, found.foods), sizes)
        assert all(len(found.foods[one.group]) >= one.choices for one in child.groups)
        return
    for chosen in offers(child, offer):
        keys = [(group, food) for group, foods in chosen.items() for food in foods]
        by_group = {one.group: one for one in child.groups}
        each = [range(len(by_group[group].foods[food])) for group, food in keys]
        narrow = of_foods(offer, chosen)
        assert not any(all_right(child, narrow, dict(zip(keys, sizes, strict=True))) for sizes in product(*each))


def test_without_rules_and_alternatives_a_child_is_one_case() -> None:
    child, offer = drawn(Random(1))  # noqa: S311 - seeded, no secret
    assert cases_of(child, replace(offer, rules=(), alternatives=())) == [child]
