"""The school's menu of some weeks from a table (CSV): read whole or not at all, and stored with what the days hold already.

One row a day under a header. Columns may come in any order; a comma, a semicolon or a tab stands between them:

``date``         needed, YYYY-MM-DD
``name``         needed, what the meal is called
``contains``     the allergen statement as the school gives it
``may_contain``  the precautionary statement
``groups``       food groups of school food rules, a space between them
figures          of the whole meal, under the names of nutrition facts: ``energy_kcal``, ``protein_g``, ``sodium_mg``
                 (or ``energy_kj``, ``salt_g``) ...

An empty cell is not known. Figures are written with a point, or with a comma and one or two places.
"""

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from difflib import get_close_matches
from typing import Any, NamedTuple
from uuid import UUID

from pydantic import ValidationError

from service.domain.errors import BadInput, LunchError, UnknownName, raise_all
from service.domain.messages import message
from service.jobs.household.days.school_days import school_day_of
from service.jobs.household.kinds import SCHOOL_DAYS
from service.jobs.household.records import Kept, Record, edited, keep_record
from service.jobs.household.requests import KeptSchoolDay
from service.jobs.request_faults import fault_of, request_fault
from service.jobs.requests.foods import NutritionFacts
from service.jobs.weeks.requests import Menu
from service.store.household.records import Connection

TEXTS = ("contains", "may_contain")
FIGURES = tuple(NutritionFacts.model_fields)
NEEDED = ("date", "name")
COLUMNS = (*NEEDED, *TEXTS, "groups", *FIGURES)
MOST_DAYS = 62
LONGEST = 200_000
"""Characters of a table."""
SEPARATORS = ",;\t"
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
FIGURE = re.compile(r"-?[0-9]+(\.[0-9]+|,[0-9]{1,2})?")
"""A comma before three figures may part thousands, so it is refused."""


class MenuOfDay(NamedTuple):
    """A row that was read: the day and its meal."""

    on: date
    menu: Menu


def decoded(table: bytes) -> str:
    """A file of text; ``BadInput`` where it is none in UTF-8."""
    try:
        return table.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise BadInput(
            pointer="the file",
            value=f"byte {fault.start + 1}",
            problem=message("fault.menu-not-utf8"),
        ) from fault


def read_menu(table: str) -> list[MenuOfDay]:
    """The days of a table, in their order; ``LunchError`` (several together) names line, column, value and remedy."""
    text = table.removeprefix("\ufeff")
    if len(text) > LONGEST:
        raise BadInput(
            pointer="the table",
            value=f"{len(text)} characters",
            problem=message("fault.menu-too-long", most=LONGEST),
        )
    lines = list(_lines(text))
    if len(lines) < 2:
        raise BadInput(
            pointer="the table",
            value=f"{len(lines)} lines",
            problem=message("fault.menu-without-days", needed=list(NEEDED)),
        )
    (header_line, header), *rows = lines
    columns = _columns(header_line, header)
    if len(rows) > MOST_DAYS:
        raise BadInput(
            pointer=f"line {rows[MOST_DAYS][0]}",
            value=f"{len(rows)} days",
            problem=message("fault.menu-too-many-days", most=MOST_DAYS),
        )
    faults: list[LunchError] = []
    found: dict[date, MenuOfDay] = {}
    for line, cells in rows:
        try:
            one = _day(line, columns, cells)
        except LunchError as fault:
            faults += fault.faults()
            continue
        if one.on in found:
            faults.append(
                BadInput(
                    pointer=f"line {line}, date",
                    value=one.on.isoformat(),
                    problem=message("fault.menu-day-twice"),
                )
            )
        found[one.on] = one
    raise_all(faults)
    return [found[on] for on in sorted(found)]


def keep_menu(connection: Connection, household: UUID, days: Sequence[MenuOfDay]) -> list[Kept]:
    """Store the meals of some days; what is set out on them and who buys stays. All of them, or none if one is at fault."""
    return [change_school_day(connection, household, one.on, {"menu": one.menu}) for one in days]


def change_school_day(connection: Connection, household: UUID, on: date, parts: Mapping[str, Any]) -> Kept:
    """Put some parts of a school day (``menu``, ``buys``, ``offer``) in the place of what they were; the others stay."""
    before: Record | None = school_day_of(connection, household, on)
    if before is None:
        return keep_record(connection, SCHOOL_DAYS, household, KeptSchoolDay(date=on, **parts), None)
    there = KeptSchoolDay.model_validate(before.body, strict=False)
    return edited(connection, SCHOOL_DAYS, household, before, there.model_copy(update=dict(parts)), None)


def _lines(text: str) -> Iterator[tuple[int, list[str]]]:
    """Each line that holds something, with the number that it begins on."""
    first = text.lstrip().partition("\n")[0]
    separator = max(SEPARATORS, key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    begins = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield begins, [cell.strip() for cell in cells]
            begins = reader.line_num + 1
    except csv.Error as fault:
        raise BadInput(
            pointer=f"line {begins}",
            value="its quotation marks",
            problem=message("fault.menu-quotes"),
        ) from fault


def _columns(line: int, header: Sequence[str]) -> list[str]:
    """The names of the columns."""
    names = [one.lower().replace(" ", "_") for one in header]
    faults: list[LunchError] = [
        UnknownName(
            pointer=f"line {line}, column {place}",
            value=given or "nothing",
            kind=message("kind.column"),
            near=get_close_matches(name, COLUMNS, 3),
            known=message("help.known", names=list(COLUMNS)),
        )
        for place, (given, name) in enumerate(zip(header, names, strict=True), 1)
        if name not in COLUMNS
    ]
    faults += [
        BadInput(
            pointer=f"line {line}",
            value=name,
            problem=message("fault.menu-column-twice"),
        )
        for name in dict.fromkeys(names)
        if names.count(name) > 1
    ]
    faults += [
        BadInput(
            pointer=f"line {line}",
            value=name,
            problem=message("fault.menu-column-missing", needed=list(NEEDED)),
        )
        for name in NEEDED
        if name not in names
    ]
    raise_all(faults)
    return names


def _day(line: int, columns: Sequence[str], cells: Sequence[str]) -> MenuOfDay:
    """One row; ``LunchError`` for all that is wrong with it."""
    if len(cells) > len(columns):
        raise BadInput(
            pointer=f"line {line}",
            value=f"{len(cells)} cells",
            problem=message("fault.menu-cells", columns=len(columns)),
        )
    given = {name: cell for name, cell in zip(columns, cells, strict=False) if cell}
    faults: list[LunchError] = []
    on = _date(given.get("date", ""))
    if on is None:
        faults.append(
            BadInput(
                pointer=f"line {line}, date",
                value=given.get("date", "nothing"),
                problem=message("fault.menu-no-day"),
            )
        )
    if "name" not in given:
        faults.append(
            BadInput(
                pointer=f"line {line}, name",
                value="nothing",
                problem=message("fault.menu-no-name"),
            )
        )
    facts: dict[str, float] = {}
    for name in FIGURES:
        if name in given:
            if FIGURE.fullmatch(given[name]):
                facts[name] = float(given[name].replace(",", "."))
            else:
                faults.append(
                    BadInput(
                        pointer=f"line {line}, {name}",
                        value=given[name],
                        problem=message("fault.menu-no-number"),
                    )
                )
    body: dict[str, Any] = {name: given[name] for name in ("name", *TEXTS) if name in given}
    if "groups" in given:
        body["groups"] = given["groups"].split()
    menu: Menu | None = None
    try:
        menu = Menu.model_validate({**body, "facts": facts})
    except ValidationError as found:
        faults += [_in_line(line, request_fault(error)) for error in found.errors(include_url=False)]
    raise_all(faults)
    assert on is not None  # noqa: S101 - otherwise there was a fault
    assert menu is not None  # noqa: S101 - likewise
    return MenuOfDay(on, menu)


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if DAY.fullmatch(text) else None
    except ValueError:
        return None


def _in_line(line: int, fault: Mapping[str, Any]) -> BadInput:
    column = next((part for part in reversed(fault["pointer"].split("/")) if part and not part.isdigit()), "name")
    return BadInput(pointer=f"line {line}, {column}", value=fault["value"], problem=fault_of(fault))
