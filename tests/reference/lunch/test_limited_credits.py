"""Which credits a standard sets a maximum for: a food that nobody credited is unknown towards these alone."""

from service.domain.foods.amounts import LIMITED_CREDITS
from service.domain.measures import MEASURE_INDEX, NUTRIENT_COUNT
from service.reference.lunch.standards import standard, standard_ids


def test_the_credits_with_a_maximum_are_those_that_are_left_open() -> None:
    limited = {
        MEASURE_INDEX[measure]
        for known in standard_ids()
        for row in standard(known).rows
        for measure, weight in row.terms.items()
        if MEASURE_INDEX[measure] >= NUTRIENT_COUNT
        and ((row.at_most is not None and weight > 0) or (row.at_least is not None and weight < 0))
    }
    whole_grain_share = MEASURE_INDEX["grain_oz_eq"]  # subtracted in the share of whole grains, as their whole
    assert limited - {whole_grain_share} == set(LIMITED_CREDITS)
