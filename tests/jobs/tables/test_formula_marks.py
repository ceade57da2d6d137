"""Promise: no CSV of a table of lunches holds text that a spreadsheet runs as a formula; other formats hold it as it is.

Beginnings of a cell that spreadsheets take for a formula: OWASP, CSV Injection.
"""

import csv
import io
from pathlib import Path

import pytest

from tests.jobs.tables.table_files import answers, rows_of, run, write

NAMES = ["=1+1", "+x", "-5", "@y", "plain"]


@pytest.mark.parametrize("kind", ["csv", "ndjson"])
def test_lunches_named_like_formulas(tmp_path: Path, kind: str) -> None:
    """In the table of lunches, of findings and of rejected rows; also where a lunch is taken out again."""
    rows = [{**row, "lunch": name} for number, name in enumerate(NAMES) for row in rows_of(1, first=number)]
    bad = [{**rows_of(1)[0], "lunch": "=bad", "food": "=no such food"}]
    apart = [*({**row, "lunch": f"L{n}"} for n in range(40) for row in rows_of(1)), {**rows[0]}]
    run(write(tmp_path / "table.ndjson", [*rows, *bad, *apart]), kind, block=2000)
    lunches, findings, rejects = answers(tmp_path, kind)
    mark = "'" if kind == "csv" else ""
    names = [name for name in dict.fromkeys(lunches["lunch"]) if not name.startswith("L")]
    assert names == [f"{mark}+x", f"{mark}-5", f"{mark}@y", "plain"]
    assert set(names) <= set(findings["lunch"])
    assert {f"{mark}=1+1", f"{mark}=bad"} <= set(rejects["lunch"])
    if kind == "csv":
        for file in tmp_path.glob("*.csv"):
            cells = [text for row in csv.reader(io.StringIO(file.read_text(), newline="")) for text in row]
            wrong = [text for text in cells if text.startswith(("=", "+", "-", "@", "\t", "\r"))]
            assert [text for text in wrong if not _number(text)] == []


def _number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
