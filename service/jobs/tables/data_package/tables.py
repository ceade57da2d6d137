"""A table for other programs: rows, and what each column means and in which unit."""

from collections.abc import Sequence
from typing import Any, Literal, NamedTuple

from service.domain.messages import Message

ColumnType = Literal["string", "date", "integer", "number", "boolean"]
"""Types of the Frictionless Table Schema; a value that is not known is left out, whatever the type."""


class Column(NamedTuple):
    """One column: its name, type, what it means, and its unit where it always has the same."""

    name: str
    type: ColumnType
    about: Message
    unit: str | None = None


class DataTable(NamedTuple):
    """A table: ``rows`` map names of columns to values, None or left out where nothing is known; ``key``: what tells rows apart.

    ``belongs``: columns that name a row of another table, as (column, table, column there).
    """

    name: str
    about: Message
    columns: Sequence[Column]
    rows: Sequence[dict[str, Any]]
    key: Sequence[str]
    belongs: Sequence[tuple[str, str, str]] = ()


class DataPackage(NamedTuple):
    """Tables that go together, the main one first, under a name."""

    name: str
    about: Message
    tables: Sequence[DataTable]
