"""What is wrong in a table of lunches, row by row, in the same words as for a single lunch."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import NamedTuple, ParamSpec, TypeVar

import numpy as np
import numpy.typing as npt
import orjson
import pandas as pd
from pydantic import ValidationError

from service.domain.errors import BadInput, LunchError
from service.domain.messages import Message, message
from service.jobs.request_faults import request_fault, shown
from service.jobs.tables.columns import COLUMNS
from service.reference.fault_words import fault_words
from service.reference.messages import json_of

Made = TypeVar("Made")
Given = ParamSpec("Given")

REJECT_COLUMNS = ("line", "lunch", "field", "value", "reason", "remedy", "slug", "code", "params")


class Fault(NamedTuple):
    """One fault of a row: the column, the value, the reason, and what to do; then the kind of fault, its code, and the
    values in reason and remedy as JSON text, as in a problem of a single lunch.
    """

    field: str
    value: str
    reason: str
    remedy: str
    slug: str = "bad-input"
    code: str = "bad-input"
    params: str = "{}"


def not_a_number(field: str, value: str, example: str = "7.5") -> Fault:
    """The fault of a cell that should be a number."""
    return row_fault(field, value, message("fault.cell-no-number", example=example))


def row_fault(field: str, value: str, problem: Message) -> Fault:
    """A fault of a cell, in words."""
    return _fault(BadInput(field=field, value=value, problem=problem), field)


def attempt(
    field: str, make: Callable[Given, Made], *given: Given.args, **named: Given.kwargs
) -> tuple[Made | None, list[Fault]]:
    """What is made, or what is wrong with what it was made from.

    ``field``: the column to name where the fault names none.
    """
    try:
        return make(*given, **named), []
    except LunchError as error:
        return None, [_fault(one, _column(one.pointer, field)) for one in error.faults()]
    except ValidationError as error:
        told = [request_fault(one) for one in error.errors(include_url=False)]
        return None, [
            Fault(
                _column(one["pointer"], field),
                one["value"],
                one["problem"],
                one["remedy"],
                "invalid-request",
                one["code"],
                _json(one["params"]),
            )
            for one in told
        ]


def _fault(error: LunchError, field: str) -> Fault:
    return Fault(field, shown(error.value), *fault_words(error), error.slug, error.code, _json(json_of(error.params)))


def _json(params: object) -> str:
    return orjson.dumps(params).decode()


def _column(pointer: str, field: str) -> str:
    """The column that a place in a request stands for."""
    return next((part for part in pointer.split("/") if part in COLUMNS), field)


class RowFaults:
    """Faults gathered for the rows of one table.

    ``any``: the rows that have one. ``closed``: the rows of which nothing more is said.
    """

    def __init__(self, rows: int) -> None:
        self.any: npt.NDArray[np.bool_] = np.zeros(rows, np.bool_)
        self.closed: npt.NDArray[np.bool_] = np.zeros(rows, np.bool_)
        self._found: list[tuple[int, Fault]] = []

    def add(self, rows: Iterable[int] | npt.NDArray[np.intp], faults: Sequence[Fault]) -> None:
        """Note the faults for each of the rows."""
        for row in rows if faults else ():
            if not self.closed[row]:
                self.any[row] = True
                self._found.extend((int(row), fault) for fault in faults)

    def frame(self, lines: npt.NDArray[np.int64], lunch_of: Callable[[int], str | None]) -> pd.DataFrame:
        """One row a fault, by line and column, each told once. ``lunch_of``: gives the lunch that a row belongs to."""
        if not self._found:
            return no_faults().copy()
        order = {name: place for place, name in enumerate(COLUMNS)}
        found = sorted(dict.fromkeys(self._found), key=lambda one: (one[0], order.get(one[1].field, -1)))
        rows = [(int(lines[row]), lunch_of(row), *fault) for row, fault in found]
        return typed(pd.DataFrame(rows, columns=list(REJECT_COLUMNS)))


def typed(frame: pd.DataFrame) -> pd.DataFrame:
    """Faults with the types of their columns, whatever is in them."""
    return frame.astype({"line": "int64", **dict.fromkeys(REJECT_COLUMNS[1:], "str")})


@lru_cache(maxsize=1)
def no_faults() -> pd.DataFrame:
    """The faults of a table that has none; not to be changed."""
    return typed(pd.DataFrame([], columns=list(REJECT_COLUMNS)))
