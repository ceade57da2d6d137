"""Laws of a week: equal days have the mean of one, order does not matter, an unknown never makes anything met."""

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.foods.amounts import ItemVector, add_up, sum_of, vector_of
from service.domain.lunch.findings import judge
from service.domain.lunch.standards import TargetTable
from service.domain.measures import MEASURE_COUNT
from service.domain.weeks.cost import MealPrice, Price, PricedItem, bought_cost, packed_cost, packs_on, rounded
from service.domain.weeks.frequency import CountedItem, FrequencyDay, FrequencyRow, frequency_findings
from service.domain.weeks.week import FIVE_DAYS, CountedDay, scaled_to_days, week_findings
from service.reference.weeks.frequencies import frequency_standard
from service.reference.weeks.lengths import week_lengths
from tests.strategies import LAW, SHORT_LAW, tables, vectors
from tests.week_days import MONDAY

pytestmark = pytest.mark.property

KEPT = ("met", "not_applicable")
ENGLAND = frequency_standard("gb-eng-school-food-2014").rows
GROUPS = sorted({row.counts for row in ENGLAND if row.counts})
NO_IDEA = ItemVector((0,) * MEASURE_COUNT, tuple((measure, 0, None) for measure in range(MEASURE_COUNT)))


def days_of(items: list[list[ItemVector]]) -> list[CountedDay]:
    return [CountedDay(MONDAY + timedelta(days=place), sum_of(day), tuple(day)) for place, day in enumerate(items)]


WEEKS = st.lists(st.lists(vectors(), min_size=1, max_size=3), min_size=1, max_size=5)


@LAW
@given(tables(), vectors(), st.integers(1, 7))
def test_equal_days_have_the_mean_of_one(table: TargetTable, day: ItemVector, count: int) -> None:
    """Status, amount and interval of the mean are those of one day."""
    for target in table.targets:
        one = judge(target, add_up([day]))
        many = judge(scaled_to_days(target, count), add_up([day] * count))
        assert many.status == one.status, target.id
        assert many.amount == pytest.approx(one.amount)
        assert many.low == pytest.approx(one.low)
        assert (many.high is None) == (one.high is None)


@LAW
@given(tables(), WEEKS, st.randoms())
def test_the_order_of_days_and_items_does_not_matter(
    table: TargetTable, items: list[list[ItemVector]], chance: object
) -> None:
    """Nothing of a finding but the dates of its days depends on it."""
    shuffled = [sorted(day, key=lambda _one: chance.random()) for day in items]  # type: ignore[attr-defined]
    shuffled.sort(key=lambda _day: chance.random())  # type: ignore[attr-defined]
    lengths = week_lengths(table.standard.id)
    first = week_findings(table, days_of(items), 5, lengths)
    second = week_findings(table, days_of(shuffled), 5, lengths)
    told = [[(one.judgement.target.id, *one.judgement[1:]) for one in week] for week in (first, second)]
    assert told[0] == told[1]  # targets are compared by identity, and a cache may have made one anew
    assert [sorted(j.status for _on, j in one.days) for one in first] == [
        sorted(j.status for _on, j in one.days) for one in second
    ]


@LAW
@given(tables(), WEEKS, st.integers(0, 4))
def test_an_unknown_item_never_makes_a_finding_met(
    table: TargetTable, items: list[list[ItemVector]], place: int
) -> None:
    """Nor does it turn a finding into one that does not apply."""
    lengths = week_lengths(table.standard.id)
    before = week_findings(table, days_of(items), 5, lengths)
    place %= len(items)
    more = [[*day, NO_IDEA] if at == place else day for at, day in enumerate(items)]
    after = week_findings(table, days_of(more), 5, lengths)
    for old, new in zip(before, after, strict=True):
        if new.status == "met":
            assert old.status == "met", new.judgement.target.id


@LAW
@given(tables(), WEEKS)
def test_a_day_without_figures_never_makes_a_finding_met(table: TargetTable, items: list[list[ItemVector]]) -> None:
    """One more school day of which nothing is known: an amount in the week must reach the larger bound without it."""
    before = week_findings(table, days_of(items), len(items), FIVE_DAYS)
    after = week_findings(table, days_of(items), len(items) + 1, FIVE_DAYS)
    for old, new in zip(before, after, strict=True):
        if new.status == "met" and new.judgement.target.at_most is None:
            assert old.status == "met", new.judgement.target.id
        if new.judgement.target.basis == "week_total" and new.judgement.target.at_most:
            assert new.status != "met"


@LAW
@given(st.lists(vectors(), min_size=1, max_size=4))
def test_a_day_as_one_vector_sums_as_its_items_do(items: list[ItemVector]) -> None:
    """Nominal, lowest and highest of every measure."""
    apart, together = add_up(items), add_up([vector_of(add_up(items))])
    for measure in range(MEASURE_COUNT):
        assert apart.lowest(measure) == together.lowest(measure)
        assert apart.highest(measure) == together.highest(measure)


# --- frequencies


@st.composite
def counted_items(draw: st.DrawFn) -> CountedItem:
    groups = draw(st.none() | st.frozensets(st.sampled_from(GROUPS), max_size=3))
    name = draw(st.sampled_from("ABCDEF"))
    amount = draw(st.integers(1_000, 400_000))
    portions = {group: draw(st.sampled_from([400, 1000, 1500])) for group in sorted(groups or ())}
    return CountedItem(name, groups, name, amount, portions, amount_ul=amount)


FREQUENCY_WEEKS = st.lists(st.none() | st.lists(counted_items(), max_size=4), min_size=1, max_size=5)


def frequency_days(items: list[list[CountedItem] | None]) -> list[FrequencyDay]:
    return [
        FrequencyDay(MONDAY + timedelta(days=place), None if day is None else tuple(day))
        for place, day in enumerate(items)
    ]


def judged(days: list[FrequencyDay], vegetarian: bool = False) -> dict[tuple[str, frozenset[str]], str]:
    def key(row: FrequencyRow) -> tuple[str, frozenset[str]]:
        return row.id, row.age_groups

    return {key(one.row): one.status for one in frequency_findings(ENGLAND, days, [], MONDAY, vegetarian)}


@LAW
@given(FREQUENCY_WEEKS, st.integers(0, 4))
def test_an_item_nobody_placed_never_makes_a_rule_met(items: list[list[CountedItem] | None], place: int) -> None:
    """On a day that says what was eaten; a day that says nothing is more unknown still."""
    place %= len(items)
    if items[place] is None:
        return
    unknown = CountedItem("X", None, "X", 1000, {})
    more = [[*day, unknown] if at == place and day is not None else day for at, day in enumerate(items)]
    before, after = judged(frequency_days(items)), judged(frequency_days(more))
    for rule, status in after.items():
        if status == "met":
            assert before[rule] in KEPT, rule


@LAW
@given(FREQUENCY_WEEKS, st.randoms())
def test_frequencies_do_not_depend_on_the_order_given(items: list[list[CountedItem] | None], chance: object) -> None:
    days = frequency_days(items)
    shuffled = sorted(days, key=lambda _day: chance.random())  # type: ignore[attr-defined]
    assert judged(days) == judged(shuffled)


@SHORT_LAW
@given(FREQUENCY_WEEKS)
def test_what_is_known_only_narrows(items: list[list[CountedItem] | None]) -> None:
    """Saying that an unplaced item counts as nothing never turns a rule that was met or broken for certain."""
    known = [
        None
        if day is None
        else [one._replace(groups=frozenset(), portions={}) if one.groups is None else one for one in day]
        for day in items
    ]
    before, after = judged(frequency_days(items)), judged(frequency_days(known))
    for rule, status in before.items():
        if status in ("met", "short", "over"):
            assert after[rule] in (status, "not_applicable"), rule


# --- cost


def _from(price: Price) -> date:
    return price.from_day


PRICES = st.lists(
    st.builds(
        Price,
        st.dates(date(2026, 1, 1), date(2026, 12, 31)),
        st.integers(0, 5_000),
        st.integers(1, 2_000_000),
        until=st.none() | st.dates(date(2026, 6, 1), date(2027, 1, 31)),
        elsewhere=st.just(""),
    ),
    unique_by=lambda price: price.from_day,
    max_size=5,
)


@LAW
@given(PRICES, st.dates(date(2025, 6, 1), date(2027, 6, 1)), st.integers(1, 500_000))
def test_a_price_holds_from_its_day_to_its_last_or_the_next(prices: list[Price], on: date, amount_mg: int) -> None:
    """Of each size; the cheapest gram counts. Without a price that holds a food is named as unpriced; the cost is exact and rounded by less than one unit."""
    cost = packed_cost([PricedItem("food", ("food",), amount_mg)], {"food": prices}, on)
    sizes = {price.pack_mg for price in prices}
    latest = [
        max((price for price in prices if price.pack_mg == size and price.from_day <= on), key=_from, default=None)
        for size in sizes
    ]
    holds = [price for price in latest if price is not None and (price.until is None or on <= price.until)]
    assert set(packs_on(prices, on)) == set(holds)
    if not holds:
        assert (cost.exact, cost.unpriced) == (0, ("food",))
        return
    assert cost.exact == min(Fraction(price.amount_minor * amount_mg, price.pack_mg) for price in holds)
    assert abs(rounded(cost.exact) - cost.exact) <= Fraction(1, 2)
    assert bought_cost([MealPrice(on, 300)], on, "meal", None).exact == 300


@LAW
@given(st.lists(st.fractions(0, 1000), max_size=8), st.randoms())
def test_sums_of_money_do_not_depend_on_order(amounts: list[Fraction], chance: object) -> None:
    shuffled = sorted(amounts, key=lambda _one: chance.random())  # type: ignore[attr-defined]
    assert rounded(sum(amounts, Fraction(0))) == rounded(sum(shuffled, Fraction(0)))
