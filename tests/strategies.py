"""What the laws are tried on: foods, items, lunches, compiled tables, drawn by hypothesis.

Figures of foods are whole thousandths, amounts whole parts, as in the engine. A drawn food may have unknown values and values known
only as an interval, each of them seldom, so that most examples say something.
"""

import os
from dataclasses import replace
from datetime import date, timedelta
from functools import lru_cache

from hypothesis import settings
from hypothesis import strategies as st

from service.domain.foods.amounts import WHOLE_OF_PART, ItemVector, item_vector, most_of_missing
from service.domain.foods.food import CreditOption, Food
from service.domain.lunch.compiling import compile_targets
from service.domain.lunch.standards import Standard, Target, TargetTable
from service.domain.measures import ENERGY, MEASURE_COUNT, NUTRIENT_COUNT, PARTS_IN_A_THOUSANDTH
from service.reference.lunch.standards import standard, standard_ids
from tests.builders import us_scheme
from tests.crediting import COMPONENT_MEASURES, credits_from_grams_per_unit

EXAMPLES = int(os.environ.get("LAW_EXAMPLES", "40"))
"""How many examples a law is tried on; ``LAW_EXAMPLES=2000 python -m pytest -m property`` searches longer, and among new ones."""

LAW = settings(deadline=None, max_examples=EXAMPLES)
"""No deadline: the machine may be shared."""

SHORT_LAW = settings(LAW, max_examples=EXAMPLES // 2)

VALUES = st.one_of(st.integers(0, 3_000), st.integers(0, 60_000), st.integers(0, 1_500_000))
NUTRIENTS = st.integers(0, NUTRIENT_COUNT - 1)
MEASURES_DRAWN = st.integers(0, MEASURE_COUNT - 1)
AMOUNTS_MG = st.one_of(st.integers(1, 5_000), st.integers(1_000, 400_000))
BASES_MG = st.sampled_from([100_000, 28_350, 30_000, 244_000, 1_000, 77_777])


@st.composite
def intervals(draw: st.DrawFn) -> tuple[int, int, int]:
    """(nominal, lowest, highest), in order lowest <= nominal <= highest."""
    lowest, nominal, highest = sorted(draw(st.tuples(VALUES, VALUES, VALUES)))
    return nominal, lowest, highest


@st.composite
def credit_options(draw: st.DrawFn, basis_mg: int) -> tuple[CreditOption, ...]:
    """No credit, or one component."""
    component = draw(st.none() | st.sampled_from(sorted(COMPONENT_MEASURES)))
    if component is None:
        return ()
    grams_mg = draw(st.integers(3_000, 500_000))
    return (CreditOption(component, credits_from_grams_per_unit(component, grams_mg, basis_mg)),)


@st.composite
def foods(draw: st.DrawFn, *, whole: bool = False, names: str = "ABCDE") -> Food:
    """A food; ``whole``: every value known exactly."""
    basis_mg = draw(BASES_MG)
    nutrients: list[int | None] = [0] * NUTRIENT_COUNT
    nutrients[ENERGY] = draw(st.integers(0, 700_000))
    ranges = {}
    for measure, value in draw(st.dictionaries(NUTRIENTS, VALUES, max_size=8)).items():
        nutrients[measure] = value
    if not whole:
        for measure, (nominal, low, high) in draw(st.dictionaries(NUTRIENTS, intervals(), max_size=2)).items():
            nutrients[measure] = nominal
            ranges[measure] = (low, high)
        for measure in draw(st.sets(NUTRIENTS, max_size=2)):
            nutrients[measure] = None
            ranges.pop(measure, None)
    name = draw(st.sampled_from(names))
    drawn = Food(
        id=name,
        name=name,
        kind="label",
        basis_mg=basis_mg,
        nutrients=tuple(nutrients),
        source="drawn",
        ranges=ranges,
        credit_options=draw(credit_options(basis_mg)),
    )
    return within_wholes(drawn)


def within_wholes(one: Food) -> Food:
    """The food with no part greater than the whole it is a part of (saturated fat than fat)."""
    for part in WHOLE_OF_PART:
        most, value = most_of_missing(one, part), one.nutrients[part]
        if most is None or value is None:
            continue
        nutrients = list(one.nutrients)
        nutrients[part] = min(value, most)
        ranges = dict(one.ranges)
        if part in ranges:
            low, high = ranges[part]
            ranges[part] = (min(low, most), min(high, most))
        one = replace(one, nutrients=tuple(nutrients), ranges=ranges)
    return one


Item = tuple[Food, int]


def items(*, whole: bool = False) -> st.SearchStrategy[Item]:
    """A food and its milligrams."""
    return st.tuples(foods(whole=whole), AMOUNTS_MG)


def lunches(*, whole: bool = False, most: int = 5) -> st.SearchStrategy[list[Item]]:
    """The items of a lunch."""
    return st.lists(items(whole=whole), min_size=1, max_size=most)


def vector_of(item: Item) -> ItemVector:
    """The measures of an item, credited by the US scheme."""
    food, amount_mg = item
    return item_vector(food, amount_mg, us_scheme(), food.credit_options[0] if food.credit_options else None)


@st.composite
def vectors(draw: st.DrawFn, *, widened: bool = True) -> ItemVector:
    """An item by its measures alone, credits among them; quicker to draw than a food."""
    nominal = [0] * MEASURE_COUNT
    part = PARTS_IN_A_THOUSANDTH
    nominal[ENERGY] = part * draw(st.sampled_from([0, 150_000]) | st.integers(0, 400_000))
    for measure, value in draw(st.dictionaries(MEASURES_DRAWN, VALUES, max_size=10)).items():
        nominal[measure] = part * value
    wide: dict[int, tuple[int, int, int | None]] = {}
    if widened:
        for measure, (value, low, high) in draw(st.dictionaries(NUTRIENTS, intervals(), max_size=2)).items():
            nominal[measure] = part * value
            wide[measure] = (measure, part * low, part * high)
        for measure in draw(st.sets(st.just(ENERGY) | NUTRIENTS, max_size=2)):
            nominal[measure] = 0
            wide[measure] = (measure, 0, None)
    return ItemVector(tuple(nominal), tuple(wide.values()))


def first_days(known: Standard) -> list[date]:
    """The first day of every span in which the rows and rules of a standard do not change."""
    days: set[date] = set()
    for row in (*known.rows, *known.product_rules, *known.milk_rules, *known.substitute_rules):
        days.add(row.from_day)
        if row.until_day is not None:
            days.add(row.until_day + timedelta(days=1))
    return sorted(days)


@lru_cache(maxsize=1)
def all_tables() -> tuple[TargetTable, ...]:
    """Every shipped standard compiled for every age group and every span of days that differs."""
    found = []
    for standard_id in standard_ids():
        known = standard(standard_id)
        for on in first_days(known):
            found += [compile_targets(known, group, on) for group in known.age_groups]
    return tuple(found)


def tables() -> st.SearchStrategy[TargetTable]:
    """One of the compiled tables."""
    return st.sampled_from(all_tables())


def targets() -> st.SearchStrategy[Target]:
    """One target of a shipped standard, single-lunch or of the week."""
    every = {
        (t.terms, t.low, t.high, t.below, t.above): t
        for table in all_tables()
        for t in table.targets + table.week_targets
    }
    return st.sampled_from(list(every.values()))
