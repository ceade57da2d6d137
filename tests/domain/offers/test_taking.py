"""A lunch as it is taken: every step leads to a lunch of the offer, and every lunch can be reached in any order."""

from collections import Counter
from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from service.domain.offers.branches import branches
from service.domain.offers.offer import ChoiceGroup, Offer, Take, WithRule
from service.domain.offers.taking import Key, StillToTake, standing, without_one

MAIN = ChoiceGroup("main", ("wrap", "soup"), Take(1, 1))
BREAD = ChoiceGroup("bread", ("roll",), Take(1, 1))
FRUIT = ChoiceGroup("fruit", ("apple", "pear", "plum"), Take(1, 2))
EXTRA = ChoiceGroup("extra", ("crackers", "yogurt"), Take(0, 2, repeats=True))
SOUP_NEEDS_TWO = WithRule("main", "soup", "fruit", Take(2, 2))
OFFER = Offer((MAIN, BREAD, FRUIT, EXTRA), (("main", "bread"),), (SOUP_NEEDS_TWO,))


def lunches(offer: Offer) -> list[Counter[Key]]:
    """Every lunch of an offer, counted out from its branches."""
    return [
        Counter((option.group, item) for option in chosen for item in option.items)
        for branch in branches(offer)
        for chosen in product(*branch.lists)
    ]


@st.composite
def small_offers(draw: st.DrawFn) -> Offer:
    """Two to four groups of one to three items, perhaps alternatives, perhaps a rule."""
    groups = []
    for place in range(draw(st.integers(2, 4))):
        items = tuple(f"i{place}{n}" for n in range(draw(st.integers(1, 3))))
        repeats = draw(st.booleans())
        low = draw(st.integers(0, 2 if repeats else min(2, len(items))))
        high = draw(st.integers(low, 2 if repeats else min(3, len(items)) if len(items) >= low else low))
        groups.append(ChoiceGroup(f"g{place}", items, Take(low, high, repeats)))
    alternatives = (("g0", "g1"),) if draw(st.booleans()) else ()
    rules = ()
    if draw(st.booleans()) and len(groups) > 2:
        last = groups[-1]
        number = draw(st.integers(0, len(last.items)))
        rules = (WithRule("g0", groups[0].items[0], last.id, Take(number, number)),)
    return Offer(tuple(groups), alternatives, rules)


@given(small_offers(), st.data())
def test_every_step_that_is_offered_leads_to_a_lunch_and_no_other_does(offer: Offer, data: st.DataObject) -> None:
    laid_out, every = branches(offer), lunches(offer)
    taken: list[Key] = []
    for _step in range(8):
        now = standing(offer, laid_out, taken)
        assert list(now.taken) == taken
        have = Counter(taken)
        reachable = {key for lunch in every if have <= lunch for key in (lunch - have)}
        assert now.next == reachable
        assert now.whole == (have in every)
        shortest = min((sum((lunch - have).values()) for lunch in every if have <= lunch), default=None)
        assert shortest is None or sum(one.at_least for one in now.still) == shortest
        assert not set(now.why_not) & now.next
        if not now.next:
            break
        taken.append(data.draw(st.sampled_from(sorted(now.next))))


def test_a_rule_changes_what_is_still_to_take() -> None:
    laid_out = branches(OFFER)
    soup = standing(OFFER, laid_out, [("main", "soup"), ("fruit", "apple")])
    assert StillToTake(("fruit",), 1, 1) in soup.still
    assert not soup.whole
    assert soup.why_not[("bread", "roll")] == "other_group"
    wrap = standing(OFFER, laid_out, [("main", "wrap"), ("fruit", "apple")])
    assert wrap.whole
    assert wrap.why_not[("main", "soup")] == "enough"


def test_a_rule_is_the_reason_where_it_is() -> None:
    both = standing(OFFER, branches(OFFER), [("fruit", "apple"), ("main", "soup"), ("fruit", "pear")])
    assert both.why_not[("fruit", "plum")] == "enough"
    none = Offer((MAIN, FRUIT), (), (WithRule("main", "soup", "fruit", Take(0, 0)),))
    with_fruit = standing(none, branches(none), [("fruit", "apple")])
    assert with_fruit.why_not[("main", "soup")] == "rule"


def test_what_fits_nowhere_is_dropped_and_the_last_of_a_kind_is_put_back() -> None:
    found = standing(
        OFFER, branches(OFFER), [("fruit", "apple"), ("gone", "thing"), ("bread", "roll"), ("main", "wrap")]
    )
    assert found.taken == (("fruit", "apple"), ("bread", "roll"))
    assert without_one([("a", "x"), ("b", "y"), ("a", "x")], ("a", "x")) == [("a", "x"), ("b", "y")]
