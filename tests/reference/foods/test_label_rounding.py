"""A measure that a label may give is rounded by a rule, or somebody says why it is taken as printed."""

import pytest

from service.domain.errors import ReferenceFault
from service.domain.measures import LABEL_MEASURES
from service.jobs.requests.foods import NutritionFacts
from service.reference.fault_words import fault_words
from service.reference.foods.label_rounding import LabelFile, check_every_measure_once, label_file


def _file_with(as_printed: list[str]) -> LabelFile:
    rows = [row.model_copy(update={"measures": as_printed}) for row in label_file().as_printed[:1]]
    return label_file().model_copy(update={"as_printed": rows})


def _named() -> list[str]:
    return [measure for row in label_file().as_printed for measure in row.measures]


@pytest.mark.parametrize(
    ("as_printed", "value", "remedy"),
    [
        (_named()[1:], _named()[0], "[[as_printed]] with the reason"),
        ([*_named(), "sodium_mg"], "sodium_mg", "Name each measure once"),
        ([*_named(), "unobtainium_mg"], "unobtainium_mg", "service/domain/measures.py"),
    ],
)
def test_a_file_that_forgets_a_measure_is_refused(as_printed: list[str], value: str, remedy: str) -> None:
    with pytest.raises(ReferenceFault) as fault:
        check_every_measure_once(_file_with(as_printed))
    assert fault.value.value == value
    assert remedy in fault_words(fault.value).remedy


def test_a_request_has_a_figure_for_each() -> None:
    kept = [name for name, field in NutritionFacts.model_fields.items() if not field.exclude]
    assert kept == [measure.id for measure in LABEL_MEASURES]
    assert NutritionFacts.model_validate({"sodium_mg": 490}).sodium_mg == 490
