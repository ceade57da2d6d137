"""Adding a standard takes one file: no code, no list to extend."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from shutil import copytree

import pytest

from service.domain.errors import OutsideAgeGroups, OutsideDates, UnknownName
from service.domain.lunch.compiling import compile_targets
from service.jobs.lunch import check_lunch as check_lunch_job
from service.jobs.lunch import targets as targets_job
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference import files
from service.reference.lunch import standards as standards_module
from service.reference.lunch.standards import standard, standard_ids
from tests.builders import food, judged, vector
from tests.refused import refused

HERE = Path(__file__).parents[3] / "reference_data"

NEW = """
id = "xx-example-lunch"
jurisdiction = "XX"
title = "Lunch rules of Examplia"
citation = "Examplian School Act 1"
about = "An invented standard for tests."
crediting = "us-school-meals"
complete = "complete"
missing = []
checked_from = 2020-09-01

[[age_group]]
id = "pupils"
title = "Pupils of 5 to 10"
from_age_months = 60
below_age_months = 132
source = "xx-act section 1"
status = "read"

[[target]]
id = "energy"
age_group = "pupils"
label = "energy"
measure = "energy_kcal"
unit = "kcal"
basis = "lunch"
at_least = 100.0
at_most = 200.0
from = 2020-09-01
until = 2024-08-31
source = "xx-act section 2"
status = "read"

[[target]]
id = "fruit"
age_group = "pupils"
label = "fruit"
measure = "fruit_cup"
unit = "cup"
basis = "lunch"
at_least = 0.5
from = 2020-09-01
until = 2024-08-31
source = "xx-act section 2"
status = "read"

[[scoring]]
target = "energy"
weight = 1.0
distance_percent = 50.0
status = "proposed"
source = "ours: no source"

[[scoring]]
target = "fruit"
weight = 1.0
distance_percent = 50.0
status = "proposed"
source = "ours: no source"
"""


def forget() -> None:
    """Let the loader look at its folder again."""
    standards_module.standard_paths.cache_clear()
    standards_module.standard.cache_clear()
    targets_job._compiled.cache_clear()


@pytest.fixture
def data_with_a_new_standard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A copy of the standards with one file more; everything else of reference_data as it is."""
    copied = tmp_path / "reference_data"
    copied.mkdir()
    for entry in HERE.iterdir():
        if entry.name == "standards":
            copytree(entry, copied / "standards")
        else:
            (copied / entry.name).symlink_to(entry)
    new = copied / "standards" / "xx" / "xx-example-lunch.toml"
    new.parent.mkdir()
    new.write_text(NEW, encoding="utf-8")
    monkeypatch.setattr(files, "BESIDE_THE_PACKAGE", tmp_path)
    forget()
    yield new
    monkeypatch.undo()
    forget()


def test_a_new_file_is_found_and_checks_a_lunch(data_with_a_new_standard: Path) -> None:
    assert "xx-example-lunch" in standard_ids()
    asked = LunchCheckRequest.model_validate(
        {
            "standard": "xx-example-lunch",
            "on": "2021-03-01",
            "child": {"age_years": 7},
            "lunch": {"items": [{"food": "apple"}]},
        }
    )
    reply = check_lunch_job.check_lunch(asked)
    findings = {finding["id"]: finding for finding in reply["findings"]}
    assert set(findings) == {"energy", "fruit"}
    assert findings["energy"]["source"] == "xx-act section 2"
    assert findings["fruit"]["status"] == "met"
    assert findings["energy"]["at_least"] == 100.0


def test_its_bounds_hold(data_with_a_new_standard: Path) -> None:
    known = standard("xx-example-lunch")
    targets = compile_targets(known, known.group("pupils"), date(2022, 1, 1))
    for kcal, status in ((99, "short"), (100, "met"), (200, "met"), (201, "over")):
        lunch = food("lunch", {"energy_kcal": kcal}, credits={"fruit": "0.5"})
        assert judged(targets, [vector(lunch, 100)])["energy"].status == status


def test_its_dates_and_ages_hold(data_with_a_new_standard: Path) -> None:
    known = standard("xx-example-lunch")
    for on in (date(2020, 8, 31), date(2024, 9, 1)):
        with refused(OutsideDates, match="2020-09-01 to 2024-08-31"):
            compile_targets(known, known.group("pupils"), on)
    with refused(OutsideAgeGroups, match="60 to 131 months"):
        known.group_of_age(132)


def test_without_the_file_it_is_an_unknown_name() -> None:
    with refused(UnknownName, match="us-school-lunch"):
        standard("xx-example-lunch")
