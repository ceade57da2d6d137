"""All reference data hangs together, and figures from memory only get fewer."""

from service.reference import health

FROM_MEMORY_AT_MOST = 41
"""May only be lowered: read a figure in its source, mend its status, lower this number."""


def test_nothing_is_wrong_with_the_data() -> None:
    assert health.faults() == []


def test_figures_from_memory_only_get_fewer() -> None:
    assert health.rows_from_memory() <= FROM_MEMORY_AT_MOST


def test_there_is_as_much_as_was_promised() -> None:
    """At least 250 lunch foods and about ten thousand generic ones."""
    counts = health.counts()
    assert counts["lunch_foods"] >= 250
    assert counts["generic_foods"] >= 10_000
    assert counts["standards"] >= 5
