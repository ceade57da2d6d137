"""Law: the most that a lunch can hold of some items is the most that any lunch of the offer, laid out one by one, holds."""

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from service.domain.offers.branches import Key, branches
from service.domain.offers.most_taken import most_taken, most_times
from service.domain.offers.offer import ChoiceGroup, Offer, Take, WithRule

ITEMS = ("a", "b", "c")
NAMES = ("one", "two", "three")


@st.composite
def takes(draw: st.DrawFn) -> Take:
    at_least = draw(st.integers(0, 2))
    return Take(at_least, draw(st.integers(at_least, 3)), draw(st.booleans()))


@st.composite
def offers(draw: st.DrawFn) -> Offer:
    """Up to three groups, two of which may stand in for each other, with up to three rules."""
    names = NAMES[: draw(st.integers(1, 3))]
    groups = tuple(ChoiceGroup(name, ITEMS[: draw(st.integers(1, 3))], draw(takes())) for name in names)
    together = len(names) > 1 and draw(st.booleans())
    rules = []
    for _number in range(draw(st.integers(0, 3)) if len(names) > 1 else 0):
        group, then = draw(st.permutations(names))[:2]
        if not (together and {group, then} == {"one", "two"}):
            item = draw(st.sampled_from(next(one for one in groups if one.id == group).items))
            rules.append(WithRule(group, item, then, draw(takes())))
    return Offer(groups, (("one", "two"),) if together else (), tuple(rules))


@given(offers(), st.lists(st.integers(0, 9), min_size=9, max_size=9))
def test_the_most_is_that_of_the_lunches_one_by_one(offer: Offer, numbers: list[int]) -> None:
    amounts: dict[Key, int] = dict(zip(product(NAMES, ITEMS), numbers, strict=True))
    lunches = [
        [key for option in lunch for key in option.keyed()]
        for branch in branches(offer)
        for lunch in product(*branch.lists)
    ]
    assert most_taken(offer, amounts) == max((sum(amounts[key] for key in one) for one in lunches), default=0)
    for lunch in lunches:
        assert all(lunch.count(key) <= most_times(offer, key[0]) for key in lunch)
