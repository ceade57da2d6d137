"""A table of lunches sent in one request: its rows as strict models, and the answer as JSON.

Read when the service starts, so that pandas and what uses it are imported with the first table only.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Literal

import orjson
from pydantic import Field

from service.domain.cautions import CAUTIONS
from service.domain.errors import Faults, at
from service.domain.foods.packets import KnownOfFoods
from service.domain.foods.packets import Packet as ResolvedPacket
from service.jobs.foods.packets import resolve_packets
from service.jobs.lunch.yardsticks import check_yardsticks
from service.jobs.requests.fields import Asked, Name
from service.jobs.requests.foods import PACKETS, SALTS_COOKING_WATER, Packet
from service.jobs.requests.people import MOST_YARDSTICKS
from service.reference.messages import listed_as

if TYPE_CHECKING:
    import pandas as pd

MOST_ROWS = 50_000

ListText = Annotated[str, Field(max_length=2000)]
Cell = Annotated[str, Field(max_length=200)]
Answered = Literal["all", "not_met", "none"]
IN_ORDER = ("met", "not_applicable", "not_declared", "in_order")


class LunchTableRow(Asked):
    """One item of one lunch. What is said of the lunch and its child is repeated in each of its rows.

    A row with another type or an unknown field is refused with the whole request; a value that cannot be used (a food
    that is not known, an amount of 0) rejects its lunch only.
    """

    lunch: Name = Field(description="Id of the lunch; its rows stand side by side.")
    standard: Cell = Field(description="Standard id, see GET /v1/standards.")
    on: Cell = Field(description="The day the lunch is eaten, YYYY-MM-DD.")
    food: Cell = Field(description="Food id of the tables, see GET /v1/foods.")
    quantity: float | None = Field(None, description="How many units; left out: 1.")
    unit: Cell | None = Field(None, description="g, or a household unit of the food; left out: its usual portion.")
    form: Cell | None = Field(None, description="How it is cut; left out: the usual form of the food.")
    credit_as: Cell | None = Field(None, description="For foods that credit in two ways: which.")
    held: Cell | None = Field(None, description="cold, hot or ambient; left out: cold.")
    age_months: float | None = Field(None, description="The child's age in months; or age_years, or age_group.")
    age_years: float | None = Field(None, description="Age in years.")
    age_group: Cell | None = Field(None, description="Age group id of the standard, to override the one by age.")
    avoids: ListText | None = Field(
        None, description="Allergens separated by semicolons, each with :contains or :may_contain if wanted."
    )
    bans: ListText | None = Field(None, description="Allergens the classroom bans, separated by semicolons.")
    ban_threshold: Cell | None = Field(
        None, description="contains or may_contain: whether the ban speaks of precautionary statements too."
    )
    yardsticks: ListText | None = Field(
        None,
        description="Ids of yardsticks to show the figures beside, separated by semicolons, see GET /v1/standards: they change "
        "neither the answer nor the score.",
    )
    insulated: bool | None = Field(None, description="Whether the bag is insulated; left out: not known.")
    cold_sources: float | None = Field(
        None, description="How many cold packs or frozen drinks go along; left out: not known."
    )
    minutes_until_eaten: float | None = Field(None, description="Minutes from packing to eating; left out: not known.")
    ambient_c: float | None = Field(None, description="Temperature around the bag in °C; left out: not known.")
    flask_preheated: bool | None = Field(
        None, description="Whether the flask was filled with boiling water first; left out: not known."
    )
    flask_filled_at_c: float | None = Field(
        None, description="Temperature of the food when it was filled in, in °C; left out: not known."
    )


class LunchTableRequest(Asked):
    """Many lunches as a table in long form: one row an item."""

    rows: Annotated[list[LunchTableRow], Field(min_length=1, max_length=MOST_ROWS)] = Field(
        description="One row an item."
    )
    findings: Answered = Field(
        "all", description="Which findings to answer: all, those that are not met (or open), or none."
    )
    packets: list[Packet] = PACKETS
    salts_cooking_water: bool | None = SALTS_COOKING_WATER
    yardsticks: Annotated[list[Name], Field(max_length=MOST_YARDSTICKS)] = Field(
        default_factory=list,
        description="Ids of yardsticks to show lunches beside whose rows name none, see GET /v1/standards: they change neither "
        "the answer nor the score.",
    )

    def days(self) -> list[date]:
        """The days that its rows name; a cell that is not a day is left out here and rejects its lunch."""
        found = []
        for text in {row.on for row in self.rows}:
            with suppress(ValueError):
                found.append(date.fromisoformat(text.strip()))
        return sorted(found)


def check_rows(asked: LunchTableRequest) -> bytes:
    """Check the rows of a request; the reply as JSON. Raises as ``known_of_foods``, and for a yardstick that is none."""
    from service.jobs.tables.cautions import said_in
    from service.jobs.tables.check_table import check_table

    with at("yardsticks"):
        check_yardsticks(asked.yardsticks)
    known = known_of_foods(asked.packets, asked.salts_cooking_water)
    checked = check_table(frame_of(asked.rows), asked.findings != "none", known, asked.yardsticks)
    cautions = listed_as("caution", [*CAUTIONS, *said_in([checked.cautions])])
    findings = checked.findings
    if asked.findings == "not_met":
        findings = findings[~findings["status"].isin(IN_ORDER)]
    return b"".join(
        [
            b'{"lunches":',
            json_rows(checked.lunches.drop(columns="line")),
            b',"findings":',
            json_rows(findings),
            b',"rejected":',
            orjson.dumps([_rejected(one) for one in checked.rejects.to_dict("records")]),
            b",",
            orjson.dumps(cautions)[1:],
        ]
    )


def known_of_foods(packets: Sequence[Packet], salted_water: bool | None) -> KnownOfFoods:
    """What a table is checked with besides its rows; ``LunchError`` for packets that do not fit, as in a lunch check."""
    faults = Faults()
    resolved: list[ResolvedPacket] = []
    with faults.at("packets"):
        resolved = resolve_packets(packets)
    faults.raise_all()
    return KnownOfFoods(tuple(resolved), salted_water)


def _rejected(fault: Mapping[Any, Any]) -> dict[str, Any]:
    """One fault of a rejected lunch, as those of a problem are, with its row and lunch."""
    row = fault["line"] - 1
    return {
        "pointer": f"#/rows/{row}/{fault['field']}",
        "value": fault["value"],
        "detail": fault["reason"],
        "remedy": fault["remedy"],
        "slug": fault["slug"],
        "code": fault["code"],
        "params": orjson.Fragment(fault["params"]),
        "row": row,
        "lunch": fault["lunch"] if isinstance(fault["lunch"], str) else None,
        "field": fault["field"],
    }


def frame_of(rows: list[LunchTableRow]) -> pd.DataFrame:
    """The rows as a data frame; columns that no row gives are left out."""
    import pandas as pd

    columns: dict[str, list[Any]] = {}
    for name in LunchTableRow.model_fields:
        cells = [getattr(row, name) for row in rows]
        if any(cell is not None for cell in cells):
            columns[name] = cells
    return pd.DataFrame(columns)


def json_rows(frame: pd.DataFrame) -> bytes:
    """A frame as a JSON array of objects."""
    from service.jobs.tables.files.write import arrow_table, ndjson

    return b"[" + ndjson(arrow_table(frame))[:-1].replace(b"\n", b",") + b"]"
