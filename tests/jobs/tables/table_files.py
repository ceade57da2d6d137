"""Tables of lunches in files, for the tests: rows, files of every kind written by other libraries, answers read back."""

import gzip
import json
from pathlib import Path
from typing import Any

import pandas as pd

from service.jobs.tables.files.run import TableSummary, check_file

Row = dict[str, Any]
FOODS = [("apple", "apple", 1), ("milk-skim", "cup", 1), ("bread-white", "g", 56), ("cheese-cheddar", "g", 28.35)]
KINDS = ("csv", "ndjson", "parquet", "csv.gz", "ndjson.gz")
CSV = b"lunch,standard,on,age_group,food,unit\n"
GOOD = b"A,us-school-lunch,2026-12-01,grades-k-5,apple,apple\n"
LINE = '{"lunch":"%s","standard":"us-school-lunch","on":"2026-12-01","age_group":"grades-k-5","food":"apple"}\n'
"""A header and a row of CSV, and a row of NDJSON that wants the name of its lunch."""


def rows_of(lunches: int, first: int = 0) -> list[Row]:
    """Lunches of one to four items, some with faults, some with allergens."""
    rows = []
    for number in range(first, first + lunches):
        for place in range(1 + number % 4):
            food, unit, quantity = FOODS[(number + place) % 4]
            rows.append(
                {
                    "lunch": f"L{number:05d}",
                    "age_months": 60 + number % 100,
                    "avoids": ["", "peanut", "milk;egg:contains"][number % 3],
                    "standard": "us-school-lunch",
                    "on": f"2026-12-{1 + number % 28:02d}",
                    "food": "appel" if number % 11 == 5 and place == 1 else food,
                    "quantity": quantity,
                    "unit": unit,
                }
            )
    return rows


def write(path: Path, rows: list[Row]) -> Path:
    """Rows as a file of the kind its name says, written by other libraries than ours."""
    kind = path.name.removesuffix(".gz").rsplit(".", 1)[1]
    if kind == "parquet":
        pd.DataFrame(rows).to_parquet(path)
    elif kind == "csv":
        pd.DataFrame(rows).to_csv(path, index=False)
    else:
        text = "".join(json.dumps(row) + "\n" for row in rows)
        path.write_bytes(gzip.compress(text.encode()) if path.suffix == ".gz" else text.encode())
    return path


def read(path: Path) -> pd.DataFrame:
    """A table of answers, read by pandas."""
    kind = path.name.removesuffix(".gz").rsplit(".", 1)[1]
    if kind == "parquet":
        return pd.read_parquet(path)
    if kind == "csv":
        return pd.read_csv(path, dtype={"lunch": "str"})
    packed = gzip.decompress(path.read_bytes()) if path.suffix == ".gz" else path.read_bytes()
    return pd.DataFrame([json.loads(line) for line in packed.splitlines()])


def run(source: Path, kind: str = "parquet", block: int | None = None, **more: Any) -> TableSummary:
    """Check a file, answers next to it."""
    out = [source.with_name(f"{name}.{kind}") for name in ("lunches", "findings", "rejects")]
    return check_file(source, out[0], out[1], out[2], lambda _done: None, block=block, **more)


def answers(folder: Path, kind: str = "parquet") -> list[pd.DataFrame]:
    """Lunches, findings and faults as written."""
    return [read(folder / f"{name}.{kind}") for name in ("lunches", "findings", "rejects")]


def without_line(frame: pd.DataFrame) -> pd.DataFrame:
    """What does not depend on where a file's first row stands."""
    return frame.drop(columns="line", errors="ignore")
