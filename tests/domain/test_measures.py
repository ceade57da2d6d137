"""Measures are named once, with their unit, nutrients before credits."""

from service.domain.foods.amounts import WHOLE_OF_PART
from service.domain.measures import CREDIT_IDS, MEASURE_INDEX, MEASURES, NUTRIENT_COUNT, NUTRIENT_IDS, TABLE_MEASURES
from tests.crediting import COMPONENT_MEASURES

ENDINGS = {"kcal": "_kcal", "g": "_g", "mg": "_mg", "µg": "_ug", "µg RAE": "_rae_ug", "cup": "_cup", "oz eq": "_oz_eq"}


def test_the_unit_stands_in_the_name() -> None:
    for measure in MEASURES:
        assert measure.unit in ENDINGS, f"{measure.id}: name the ending of ids in {measure.unit!r} in ENDINGS here"
        assert measure.id.endswith(ENDINGS[measure.unit])


def test_nutrients_come_first_and_names_are_unique() -> None:
    assert [measure.kind for measure in MEASURES] == ["nutrient"] * NUTRIENT_COUNT + ["credit"] * len(CREDIT_IDS)
    assert len(MEASURE_INDEX) == len(MEASURES)
    assert (*NUTRIENT_IDS, *CREDIT_IDS) == tuple(measure.id for measure in MEASURES)


def test_whatever_is_named_elsewhere_is_a_measure() -> None:
    assert {measure.id for measure in TABLE_MEASURES} <= set(NUTRIENT_IDS)
    assert {measure for parts in COMPONENT_MEASURES.values() for measure, _part in parts} == set(CREDIT_IDS)
    assert all(part != whole for part, whole in WHOLE_OF_PART.items())
