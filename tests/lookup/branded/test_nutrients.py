"""Promise: each nutrient that is read stands for a measure of ours in the unit that its factor leads to.

Outside check: the nutrient numbers of USDA SR28, which FoodData Central kept (``service/domain/measures.py``).
"""

from service.domain.measures import MEASURE_INDEX, MEASURES
from service.lookup.branded.nutrients import fdc_nutrients, limits, measures_read, unit_of
from tests.lookup.branded.make_archive import UNITS

UNIT_THERE = {"kcal": "KCAL", "g": "G", "mg": "MG", "µg": "UG", "µg RAE": "UG"}
OTHER_NUMBERS = {1063: "Sugars, Total NLEA", 1110: "vitamin D in IU"}


def test_numbers_are_those_of_the_older_tables() -> None:
    for one in fdc_nutrients():
        if one.measure is not None and one.id not in OTHER_NUMBERS:
            assert MEASURES[MEASURE_INDEX[one.measure]].sr28 in ("", one.number), one


def test_units_agree() -> None:
    for one in fdc_nutrients():
        if one.measure is not None and one.factor == 1:
            assert UNIT_THERE[unit_of(one.measure)] == one.unit, one


def test_the_invented_archives_have_the_same_units() -> None:
    known = {one.id: (one.unit, one.number) for one in fdc_nutrients()}
    assert {number: (unit, there) for number, (_name, unit, there) in UNITS.items() if number in known} == {
        number: known[number] for number in UNITS if number in known
    }


def test_each_nutrient_once_and_every_limit() -> None:
    ids = [one.id for one in fdc_nutrients()]
    assert len(ids) == len(set(ids))
    assert len(measures_read()) == 25
    assert limits() == (105, 910, 25, 10, 12, 5, 40_000)
