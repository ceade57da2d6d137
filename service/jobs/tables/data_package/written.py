"""A data package as bytes: a zip file with ``datapackage.json`` and each table as CSV and Parquet, or one table as Parquet.

Of the same package always the same bytes. Sources: Frictionless Data Package and Table Schema (v1); RFC 4180; Apache Parquet.
"""

import csv
import hashlib
import io
import zipfile
from datetime import date
from typing import Any

import orjson

from service import __version__
from service.domain.errors import BadInput
from service.domain.messages import message
from service.jobs.formula_marks import marked
from service.jobs.tables.data_package.tables import Column, DataPackage, DataTable
from service.reference.messages import say

DESCRIPTOR = "datapackage.json"
EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The moment that the zip file gives for every file in it."""


def package_file(package: DataPackage, name: str, option: str) -> bytes:
    """The content of a file by the ending of its name: .zip, or .parquet for the main table; ``BadInput`` for another."""
    if name.lower().endswith(".zip"):
        return package_zip(package)
    if name.lower().endswith(".parquet"):
        return table_parquet(package.tables[0])
    problem = message("fault.no-kind-of-table", endings=[".zip", ".parquet"])
    raise BadInput(pointer=option, value=name, problem=problem)


def package_zip(package: DataPackage) -> bytes:
    """The zip file; the tables are in it as CSV, which the descriptor speaks of, and as Parquet beside it."""
    as_csv = {f"{table.name}.csv": table_csv(table) for table in package.tables}
    files = {DESCRIPTOR: descriptor(package, as_csv), **as_csv}
    files |= {f"{table.name}.parquet": table_parquet(table) for table in package.tables}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(_entry(name), content)
    return out.getvalue()


def descriptor(package: DataPackage, as_csv: dict[str, bytes]) -> bytes:
    """``datapackage.json``: for each CSV file its columns with type, meaning and unit, its key, its length and digest."""
    whole = {
        "profile": "tabular-data-package",
        "name": package.name,
        "description": say(package.about),
        "version": __version__,
        "resources": [_resource(table, as_csv[f"{table.name}.csv"]) for table in package.tables],
    }
    return orjson.dumps(whole, option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE)


def table_csv(table: DataTable) -> bytes:
    """A table as CSV (UTF-8, CRLF); text that a spreadsheet would take for a formula has an apostrophe before it."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([column.name for column in table.columns])
    for row in table.rows:
        writer.writerow([_cell(row.get(column.name)) for column in table.columns])
    return out.getvalue().encode()


def table_parquet(table: DataTable) -> bytes:
    """A table as Parquet; each column carries what it means, and its unit, as metadata."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    kinds = {
        "string": pa.string(),
        "date": pa.date32(),
        "integer": pa.int64(),
        "number": pa.float64(),
        "boolean": pa.bool_(),
    }
    fields = [pa.field(one.name, kinds[one.type], metadata=_metadata(one)) for one in table.columns]
    columns = [
        pa.array([_typed(row.get(one.name), one) for row in table.rows], kinds[one.type]) for one in table.columns
    ]
    about = {"description": say(table.about)}
    out = io.BytesIO()
    pq.write_table(pa.table(columns, schema=pa.schema(fields, metadata=about)), out)
    return out.getvalue()


def _resource(table: DataTable, content: bytes) -> dict[str, Any]:
    schema: dict[str, Any] = {"fields": [_field(one) for one in table.columns], "primaryKey": list(table.key)}
    if table.belongs:
        schema["foreignKeys"] = [
            {"fields": [column], "reference": {"resource": other, "fields": [there]}}
            for column, other, there in table.belongs
        ]
    return {
        "profile": "tabular-data-resource",
        "name": table.name,
        "path": f"{table.name}.csv",
        "description": say(table.about),
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "dialect": {"delimiter": ",", "lineTerminator": "\r\n", "header": True},
        "bytes": len(content),
        "hash": f"sha256:{hashlib.sha256(content).hexdigest()}",
        "schema": {**schema, "missingValues": [""]},
    }


def _field(column: Column) -> dict[str, Any]:
    said = {"name": column.name, "type": column.type, "description": say(column.about)}
    return said if column.unit is None else {**said, "unit": column.unit}


def _metadata(column: Column) -> dict[str, str]:
    said = {"description": say(column.about)}
    return said if column.unit is None else {**said, "unit": column.unit}


def _typed(value: Any, column: Column) -> Any:
    return date.fromisoformat(value) if column.type == "date" and value is not None else value


def _cell(value: Any) -> Any:
    if isinstance(value, str):
        return marked(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    return "" if value is None else value


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, EARLIEST)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o600 << 16
    return entry
