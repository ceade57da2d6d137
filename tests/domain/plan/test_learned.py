"""How readily a child takes a food, learned from its lunches: by hand, and what holds for any lunches."""

from hypothesis import given
from hypothesis import strategies as st

from service.domain.plan.portions.learned import TakenLunch, learned

FOODS = frozenset({"apple", "pear", "plum"})


def lunch(on_offer: str, taken: str) -> TakenLunch:
    return TakenLunch(frozenset(on_offer.split()), frozenset(taken.split()))


def test_with_nothing_known_every_food_is_as_likely() -> None:
    for lunches in ([], [lunch("bread cheese", "bread")]):
        found = learned(FOODS, lunches)
        assert found.lunches == 0
        assert set(found.shares.values()) == {1 / 3}


def test_a_food_counts_on_the_days_on_which_it_was_on_offer_only() -> None:
    """By hand: apple 2 of 3 mornings, pear 1 of 3, plum 1 of 1: (2+1)/(3+3), (1+1)/(3+3), (1+1)/(1+3), out of their sum 4/3."""
    found = learned(FOODS, [lunch("apple pear", "apple")] * 2 + [lunch("apple pear plum bread", "pear plum")])
    assert found.lunches == 3
    assert {food: round(share, 9) for food, share in found.shares.items()} == {
        "apple": round(3 / 8, 9),
        "pear": round(2 / 8, 9),
        "plum": round(3 / 8, 9),
    }


LUNCHES = st.lists(
    st.sets(st.sampled_from(sorted(FOODS)), min_size=1).flatmap(
        lambda there: st.builds(
            TakenLunch, st.just(frozenset(there)), st.sets(st.sampled_from(sorted(there))).map(frozenset)
        )
    ),
    max_size=60,
)


@given(LUNCHES)
def test_shares_are_one_together_and_none_is_nothing(lunches: list[TakenLunch]) -> None:
    found = learned(FOODS, lunches)
    assert abs(sum(found.shares.values()) - 1) < 1e-9
    assert min(found.shares.values()) > 0


@given(LUNCHES)
def test_one_more_lunch_with_a_food_never_makes_it_less_liked(lunches: list[TakenLunch]) -> None:
    more = [*lunches, TakenLunch(FOODS, frozenset({"apple"}))]
    assert learned(FOODS, more).shares["apple"] >= learned(FOODS, lunches).shares["apple"] - 1e-9
