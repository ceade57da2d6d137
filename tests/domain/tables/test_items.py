"""Items as arrays are the vectors of ``item_vector``, and sums of them are those of ``add_up``."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadAmount, ReferenceFault
from service.domain.foods.amounts import HEAVIEST_ITEM_MG, ItemVector, Totals, add_up, amount_mg_of, item_vector
from service.domain.foods.food import Credit, CreditOption, Food, HouseholdUnit
from service.domain.foods.recipes import Ingredient, compose
from service.domain.measures import MEASURE_COUNT, MEASURE_INDEX
from service.domain.tables.items import ItemArrays, credit_arrays, food_arrays, item_arrays, weights_mg
from service.domain.tables.totals import ManyTotals, add_up_many
from service.reference.foods.lunch_foods import lunch_foods
from tests.builders import food, us_scheme
from tests.strategies import LAW, Item, lunches

AMOUNTS = st.integers(1, HEAVIEST_ITEM_MG)


def arrays_of(items: list[Item], *, credited: bool = True) -> ItemArrays:
    """Items side by side, each credited in its first way."""
    foods = [one for one, _amount in items]
    scheme = us_scheme() if credited else None
    ways = [(one, one.credit_options[0] if one.credit_options else None, scheme) for one in foods]
    each = np.arange(len(items))
    amounts = np.array([amount for _one, amount in items], np.int64)
    return item_arrays(food_arrays(tuple(foods)), each, amounts, credit_arrays(ways), each)


def vector_of(item: Item, *, credited: bool = True) -> ItemVector:
    """One item by itself."""
    one, amount = item
    option = one.credit_options[0] if one.credit_options else None
    return item_vector(one, amount, us_scheme() if credited else None, option)


def totals_at(items: ItemArrays, lunch: list[int]) -> Totals:
    """The totals of one lunch out of a table of one."""
    return single(add_up_many(items, np.array(lunch), np.array([0])), 0)


def single(totals: ManyTotals, lunch: int) -> Totals:
    """The totals of one of many lunches as the single check has them."""
    here = totals.subset(np.array([lunch]))
    measures = here.measures_with_intervals()
    return Totals(
        [int(here.nominal[measure][0]) for measure in range(MEASURE_COUNT)],
        {measure: int(here.least(measure)[0]) for measure in measures},
        {measure: None if here.is_unbounded(measure)[0] else int(here.most(measure)[0]) for measure in measures},
    )


def assert_same(one: Totals, other: Totals) -> None:
    """Nominal values and intervals."""
    assert list(one.nominal) == list(other.nominal)
    assert one.low == other.low
    assert one.high == other.high


@pytest.mark.property
@given(items=lunches(most=4), credited=st.booleans())
@LAW
def test_an_item_is_its_vector(items: list[Item], credited: bool) -> None:
    """Unknown, rounded and credited figures, in amounts of any size."""
    arrays = arrays_of(items, credited=credited)
    for place, item in enumerate(items):
        assert_same(totals_at(arrays, [place]), add_up([vector_of(item, credited=credited)]))


@pytest.mark.property
@given(st.lists(st.tuples(st.sampled_from(list(lunch_foods())), AMOUNTS), min_size=1, max_size=6))
@LAW
def test_a_lunch_food_is_its_vector(items: list[Item]) -> None:
    """The shipped foods, credits and all."""
    arrays = arrays_of(items)
    for place, item in enumerate(items):
        assert_same(totals_at(arrays, [place]), add_up([vector_of(item)]))


@pytest.mark.property
@given(st.lists(lunches(most=5), min_size=1, max_size=6))
@LAW
def test_sums_over_many_lunches_are_those_of_each(several: list[list[Item]]) -> None:
    """Lunches of different sizes side by side."""
    items = [item for lunch in several for item in lunch]
    sizes = np.array([len(lunch) for lunch in several])
    totals = add_up_many(arrays_of(items), np.arange(len(items)), np.cumsum(sizes) - sizes)
    for place, lunch in enumerate(several):
        assert_same(single(totals, place), add_up([vector_of(item) for item in lunch]))


def test_sums_over_more_lunches_than_a_block_and_of_very_different_sizes() -> None:
    """One in a hundred lunches has 40 items, the others one or two: checked against numpy's own sums."""
    pick = np.random.default_rng(5)
    items = arrays_of([(one, 30_000) for one in list(lunch_foods())[:50]])
    sizes = np.where(pick.random(9000) < 0.01, 40, pick.integers(1, 3, 9000))
    item = pick.integers(0, 50, int(sizes.sum()))
    starts = np.cumsum(sizes) - sizes
    totals = add_up_many(items, item, starts)
    expected = np.add.reduceat(items.nominal[item], starts, axis=0)
    assert all((totals.nominal[m] == expected[:, m]).all() for m in range(MEASURE_COUNT))


def test_no_lunches_have_no_totals() -> None:
    """An empty table is a table."""
    items = arrays_of([(next(iter(lunch_foods())), 1000)])
    assert len(add_up_many(items, np.zeros(0, np.intp), np.zeros(0, np.intp))) == 0


@given(st.lists(st.tuples(st.integers(1, 500_000), st.integers(1, 10_000)), min_size=1))
def test_weights_are_rounded_as_for_one_item(pairs: list[tuple[int, int]]) -> None:
    """Half a milligram goes up."""
    per_unit, quantity = (np.array(side, np.int64) for side in zip(*pairs, strict=True))
    expected = []
    for grams_mg, thousandths in pairs:
        one = food("sample", units=[HouseholdUnit("piece", grams_mg)])
        try:
            expected.append(amount_mg_of(one, thousandths, "piece"))
        except BadAmount:  # too heavy or too light: the table refuses the row by the same function
            expected.append(None)
    found = weights_mg(per_unit, quantity).tolist()
    assert [one for one, known in zip(found, expected, strict=True) if known is not None] == [
        known for known in expected if known is not None
    ]


def test_a_figure_that_would_not_fit_is_refused() -> None:
    """Nothing is ever wrapped round without a word."""
    huge = food("huge", {"sodium_mg": 10**15})
    with pytest.raises(ReferenceFault, match="too large to be a figure"):
        food_arrays((huge,))


def test_a_credit_that_would_not_fit_is_refused() -> None:
    """A fraction with very many digits."""
    credit = Credit(MEASURE_INDEX["fruit_cup"], Fraction(10**18 + 1, 10**17 + 3))
    option = CreditOption("fruit", (credit,))
    one: Food = food("odd")
    with pytest.raises(ReferenceFault, match="too long a fraction"):
        credit_arrays([(one, option, us_scheme())])


@pytest.mark.parametrize("amount_mg", [1, 999, 3_333, 100_000])
def test_a_dish_of_which_only_a_part_is_known_is_its_vector(amount_mg: int) -> None:
    """Its lower end is rounded down where the known amount is rounded to the nearest; a third of a figure is exact."""
    ham, spread = food("ham", {"sodium_mg": 1000}, basis_g=30), food("spread", unknown=["sodium_mg"])
    parts = [Ingredient(ham, 10_001, None), Ingredient(spread, 7_000, None)]
    dish = compose(recipe_id="dish", name="dish", ingredients=parts)
    assert_same(totals_at(arrays_of([(dish, amount_mg)]), [0]), add_up([vector_of((dish, amount_mg))]))
