"""Lists, structs and maps in Parquet are read as the same values in NDJSON: nothing that a child avoids is ever dropped."""

import json
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from tests.jobs.tables.table_files import answers, run

TEXT = pa.string()
ROWS = {
    "lunch": ["A", "B", "C"],
    "standard": ["us-school-lunch"] * 3,
    "on": ["2026-12-01"] * 3,
    "age_group": ["grades-k-5"] * 3,
    "food": ["peanut-butter-crunchy"] * 3,
    "quantity": [30] * 3,
    "unit": ["g"] * 3,
}
PAIR = [["milk", "peanut"], ["peanut", "egg"], None]
GAP = [["peanut", None], ["milk", "peanut"], None]
KINDS: dict[str, tuple[pa.DataType, list[Any]]] = {
    "list": (pa.list_(TEXT), [*GAP[:2], []]),
    "list of large text": (pa.list_(pa.large_string()), GAP),
    "large list": (pa.large_list(TEXT), [["peanut"], [None], []]),
    "fixed-size list": (pa.list_(TEXT, 2), GAP),
    "fixed-size list without a gap": (pa.list_(TEXT, 2), PAIR),
    "list view": (pa.list_view(TEXT), GAP),
    "list of text by code": (pa.list_(pa.dictionary(pa.int32(), TEXT)), GAP),
    "empty text among the entries": (pa.list_(TEXT), [["peanut", ""], [" "], ["peanut"]]),
    "text by code": (pa.dictionary(pa.int32(), TEXT), ["peanut", "milk;peanut", None]),
    "struct": (pa.struct([("a", TEXT)]), [{"a": "peanut"}, None, {"a": None}]),
    "map": (pa.map_(TEXT, TEXT), [{"peanut": "may"}, None, {}]),
    "numbers in lists": (pa.list_(pa.int64()), [[1], None, []]),
    "lists in lists": (pa.list_(pa.list_(TEXT)), [[["peanut"]], [[None]], [None]]),
    "structs in lists": (pa.list_(pa.struct([("a", TEXT)])), [[{"a": "peanut"}], [None], []]),
    "nulls in lists": (pa.list_(pa.null()), [[None], [], None]),
    "nulls": (pa.null(), [None, None, None]),
}


def both(folder: Path, column: str, kind: pa.DataType, values: list[Any]) -> list[list[list[Any]]]:
    """The same table as Parquet and as NDJSON: lunches with their outcome, and faults, of each."""
    folder.mkdir()
    given = [list(one.items()) if isinstance(one, dict) and pa.types.is_map(kind) else one for one in values]
    columns = {**{name: pa.array(cells) for name, cells in ROWS.items()}, column: pa.array(given, kind)}
    pq.write_table(pa.table(columns), folder / "table.parquet")
    rows = [{**{name: cells[row] for name, cells in ROWS.items()}, column: values[row]} for row in range(3)]
    (folder / "table.ndjson").write_text("".join(json.dumps(row) + "\n" for row in rows))
    seen = []
    for name in ("table.parquet", "table.ndjson"):
        run(folder / name)
        lunches, _findings, rejects = answers(folder)
        seen.append(
            [
                lunches[["lunch", "verdict", "allergen_outcome"]].fillna("").to_numpy().tolist(),
                rejects[["line", "lunch", "field", "value", "reason"]].to_numpy().tolist(),
            ]
        )
    return seen


@pytest.mark.parametrize(("kind", "values"), KINDS.values(), ids=KINDS)
@pytest.mark.parametrize("column", ["avoids", "food"])
def test_a_column_of_any_kind_is_read_as_in_ndjson(
    tmp_path: Path, column: str, kind: pa.DataType, values: list[Any]
) -> None:
    """The same outcomes, the same faults of the same rows; no kind refuses the whole file."""
    parquet, ndjson = both(tmp_path / "both", column, kind, values)
    assert parquet == ndjson


@pytest.mark.parametrize(("kind", "values"), KINDS.values(), ids=KINDS)
def test_a_child_that_avoids_peanut_is_never_given_it(tmp_path: Path, kind: pa.DataType, values: list[Any]) -> None:
    """Wherever the word stands in a cell, its lunch is rejected with that cell, or judged as one that avoids peanut."""
    (lunches, rejects), _ndjson = both(tmp_path / "both", "avoids", kind, values)
    for name, value in zip(ROWS["lunch"], values, strict=True):
        told = [one for one in rejects if one[1] == name]
        judged = [one for one in lunches if one[0] == name]
        assert len(told) + len(judged) == 1
        if "peanut" in json.dumps(value):
            assert [one[2] for one in told] == ["avoids"] or judged[0][1:] == ["do_not_pack", "avoid"]


def test_an_entry_that_names_nothing_is_a_fault_of_its_row() -> None:
    """Named with the whole list, in the words of a list of text."""
    from service.jobs.tables.files.blocks import cell

    for value in (["peanut", None], [None], [None, "milk", None]):
        given, fault = cell("avoids", value)
        assert given is None
        assert fault is not None
        assert (fault.field, fault.value, fault.reason) == ("avoids", json.dumps(value), "has an entry without text")
    assert (
        cell("avoids", []) == cell("avoids", [""]) == ("", None)
    )  # as in an empty cell of CSV, and as pandas splits it
    assert cell("avoids", ["milk", "egg"]) == ("milk;egg", None)
