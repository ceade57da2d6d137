"""From a quantity and a unit to milligrams and measures, and what is refused on the way."""

import pytest

from service.domain.errors import BadAmount, LunchError, UnknownName
from service.domain.foods.amounts import HEAVIEST_ITEM_MG, add_up, amount_mg_of, credit_option
from service.domain.foods.food import CreditOption, HouseholdUnit
from service.domain.measures import MEASURE_INDEX
from service.reference.fault_words import fault_sentence, fault_words
from tests.builders import food, parts, vector
from tests.refused import refused

BREAD = food("bread", {"energy_kcal": 250}, units=[HouseholdUnit("slice", 32_000), HouseholdUnit("oz", 28_350)])


@pytest.mark.parametrize(
    ("thousandths", "unit", "milligrams"),
    [
        (1_000, "slice", 32_000),
        (2_000, "slice", 64_000),
        (1_500, "slice", 48_000),
        (333, "slice", 10_656),
        (1_000, "oz", 28_350),
        (500, "g", 500),
        (12_345, "g", 12_345),
        (1, "g", 1),
    ],
)
def test_a_quantity_of_a_unit(thousandths: int, unit: str, milligrams: int) -> None:
    assert amount_mg_of(BREAD, thousandths, unit) == milligrams


def test_half_a_milligram_goes_up() -> None:
    seed = food("seed", units=[HouseholdUnit("seed", 1)])
    assert amount_mg_of(seed, 1_500, "seed") == 2
    assert amount_mg_of(seed, 1_499, "seed") == 1


@pytest.mark.parametrize("thousandths", [0, -1, -1_000])
def test_nothing_and_less_is_refused(thousandths: int) -> None:
    with refused(BadAmount, match="not an amount above zero") as caught:
        amount_mg_of(BREAD, thousandths, "slice")
    assert caught.value.pointer == "/quantity"
    assert fault_words(caught.value).remedy


def test_more_than_a_lunch_can_hold_is_refused() -> None:
    assert amount_mg_of(BREAD, HEAVIEST_ITEM_MG, "g") == HEAVIEST_ITEM_MG
    with refused(BadAmount, match="more than one item of a lunch can"):
        amount_mg_of(BREAD, HEAVIEST_ITEM_MG + 1_000, "g")


def test_less_than_a_milligram_is_refused() -> None:
    with refused(BadAmount, match="less than a milligram"):
        amount_mg_of(food("speck", units=[HouseholdUnit("speck", 1)]), 499, "speck")


def test_an_unknown_unit_names_near_ones_and_all_there_are() -> None:
    with pytest.raises(UnknownName) as caught:
        amount_mg_of(BREAD, 1_000, "slices")
    assert caught.value.pointer == "/unit"
    assert caught.value.near == ("slice",)
    assert "It has: slice, oz, g." in fault_sentence(caught.value)


def test_a_label_by_volume_cannot_be_weighed() -> None:
    juice = food("juice", units=[HouseholdUnit("serving", 200_000)], weighable=False)
    assert amount_mg_of(juice, 1_000, "serving") == 200_000
    with refused(UnknownName, match="serving"):
        amount_mg_of(juice, 100_000, "g")


def test_beans_credit_in_the_way_asked_for() -> None:
    options = (CreditOption("meat_alternate", ()), CreditOption("legume", ()))
    beans = food("beans")
    from dataclasses import replace

    beans = replace(beans, credit_options=options)
    assert credit_option(beans, None) is options[0]
    assert credit_option(beans, "legume") is options[1]
    with refused(UnknownName, match="meat_alternate, legume"):
        credit_option(beans, "fruit")
    with refused(UnknownName, match="does not credit") as caught:
        credit_option(BREAD, "grain")
    assert isinstance(caught.value, LunchError)


def test_a_total_knows_what_it_does_not_know() -> None:
    """Bread 250 kcal in 100 g, tea of unknown energy: at least the bread's (worked out by hand)."""
    energy = MEASURE_INDEX["energy_kcal"]
    totals = add_up([vector(BREAD, 64), vector(food("tea", unknown=["energy_kcal"]), 200)])
    assert totals.nominal[energy] == totals.lowest(energy) == parts(160)
    assert totals.highest(energy) is None


def test_a_label_figure_in_a_portion_is_an_interval_in_proportion() -> None:
    """130 to 145 mg in 30 g are 195 to 217.5 mg in 45 g."""
    bar = food("bar", {"sodium_mg": 140}, basis_g=30, ranges={"sodium_mg": ("130", "145")})
    totals = add_up([vector(bar, 45)])
    sodium = MEASURE_INDEX["sodium_mg"]
    assert (totals.lowest(sodium), totals.nominal[sodium], totals.highest(sodium)) == (
        parts(195),
        parts(210),
        parts("217.5"),
    )
