"""All reference data hangs together, and figures from memory only get fewer."""

import csv

from service.reference import health
from service.reference.files import data_path
from service.reference.lunch.standards import standard_paths

FROM_MEMORY_AT_MOST = 37
"""May only be lowered: read a figure in its source, mend its status, lower this number."""


def test_nothing_is_wrong_with_the_data() -> None:
    assert health.faults() == []


def test_figures_from_memory_only_get_fewer() -> None:
    files = (
        *standard_paths().values(),
        *health.CREDITING,
        "energy/nasem-2023.toml",
        "handling/choking.toml",
        "handling/holding.toml",
        "handling/storage.toml",
        "labels/us-nutrition-facts.toml",
    )
    count = sum(data_path(name).read_text(encoding="utf-8").count('status = "memory"') for name in files)
    with data_path("foods/lunch_foods.csv").open(encoding="utf-8") as file:
        count += sum(1 for row in csv.DictReader(file) if row["credits_status"] == "memory")
    assert 0 < count <= FROM_MEMORY_AT_MOST


def test_there_is_as_much_as_was_promised() -> None:
    """At least 250 lunch foods and about ten thousand generic ones."""
    counts = health.counts()
    assert counts["lunch_foods"] >= 250
    assert counts["generic_foods"] >= 10_000
    assert counts["standards"] >= 5
