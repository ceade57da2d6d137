"""What the rows of a table say of each lunch as a whole: which targets, whose allergens, how it is kept.

Everything that is said alike for many lunches is looked up once, by the functions of the single check.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, TypeVar

from service.domain.allergens.screening import Avoidance
from service.domain.lunch.handling import Holding
from service.domain.lunch.standards import AgeGroup, Standard, TargetTable, check_date, compile_targets
from service.jobs.lunch.check_lunch import age_group_of, avoidances_of
from service.jobs.requests import Asked, Child, Day, HoldingConditions, Name, Setting
from service.jobs.tables.columns import NumberColumn, RowsByCode, TextColumn, codes_of, together
from service.jobs.tables.faults import Fault, RowFaults, attempt
from service.reference.lunch.standards import standard

if TYPE_CHECKING:
    from service.jobs.tables.columns import Floats, Place

Found = TypeVar("Found")

NOTHING_GIVEN = -1


class NamedStandard(Asked):
    """The standard of a row, held to the same form as in a request."""

    standard: Name


class NamedDay(Asked):
    """The day of a row, held to the same form as in a request."""

    on: Day


@dataclass(frozen=True, slots=True, eq=False)
class LunchFields:
    """What is known of ``n`` lunches beside their items; -1 for a lunch with a fault in these fields.

    ``table``, ``avoided``, ``kept``: (n,) places in ``tables``, ``avoidances`` and ``holdings``. ``months``: (n,)
    the child's age, or the youngest of its age group. ``days``: (n,) places in ``day_texts``.
    """

    table: Place
    tables: list[TargetTable]
    avoided: Place
    avoidances: list[list[Avoidance]]
    kept: Place
    holdings: list[Holding]
    months: Place
    days: Place
    day_texts: list[str]

    def of(self, chosen: Place) -> LunchFields:
        """Some of the lunches."""
        return LunchFields(
            self.table[chosen],
            self.tables,
            self.avoided[chosen],
            self.avoidances,
            self.kept[chosen],
            self.holdings,
            self.months[chosen],
            self.days[chosen],
            self.day_texts,
        )


def lunch_fields(
    texts: dict[str, TextColumn], numbers: dict[str, NumberColumn], rows: Place, faults: RowFaults
) -> LunchFields:
    """Look up what the first row of each lunch says; faults are noted for that row.

    ``rows``: (n,) the first row of each lunch.
    """
    first = {name: column.of(rows) for name, column in texts.items()}
    figures = {name: column.values[rows] for name, column in numbers.items()}
    table, tables, months = _targets(first, figures, rows, faults)
    avoided, avoidances = _avoidances(first, rows, faults)
    kept, holdings = _holdings(first, figures, rows, faults)
    days = first["on"]
    return LunchFields(table, tables, avoided, avoidances, kept, holdings, months, days.codes, days.values)


def _targets(
    texts: dict[str, TextColumn], figures: dict[str, Floats], rows: Place, faults: RowFaults
) -> tuple[Place, list[TargetTable], Place]:
    """Each lunch's compiled table: by standard and child the age group, by standard and day the span of days."""
    import numpy as np

    standards = texts["standard"].codes
    known = _looked_up("standard", texts["standard"], named_standard, rows, faults)
    days = _looked_up("on", texts["on"], named_day, rows, faults)
    child, ages = _ages(texts["age_group"], figures, rows, faults)

    by_child, example = together(standards, child)
    with_child = RowsByCode(by_child)
    group, months = np.full((2, len(example)), NOTHING_GIVEN, np.intp)
    groups: list[tuple[Standard, AgeGroup]] = []
    for number, lunch in enumerate(example.tolist()):
        of, age = known.get(int(standards[lunch])), ages.get(int(child[lunch]))
        if of is None or age is None:
            continue
        made, wrong = attempt("age_months", age_group_of, of.id, age)
        if made is None:
            faults.add(rows[with_child[number]], wrong)
            continue
        if (of, made) not in groups:
            groups.append((of, made))
        group[number] = groups.index((of, made))
        given = age.months()
        months[number] = made.from_age_months if given is None else given

    by_day, example = together(standards, texts["on"].codes)
    with_day = RowsByCode(by_day)
    span = np.full(len(example), NOTHING_GIVEN, np.intp)
    for number, lunch in enumerate(example.tolist()):
        of, on = known.get(int(standards[lunch])), days.get(int(texts["on"].codes[lunch]))
        if of is None or on is None:
            continue
        _checked, wrong = attempt("on", check_date, of, on)
        if wrong:
            faults.add(rows[with_day[number]], wrong)
        else:
            span[number] = span_of(of, on)

    whole, example = together(group[by_child], span[by_day])
    tables: list[TargetTable] = []
    place = np.full(len(example), NOTHING_GIVEN, np.intp)
    for number, lunch in enumerate(example.tolist()):
        at, days_at = int(group[by_child[lunch]]), int(span[by_day[lunch]])
        if at < 0 or days_at < 0:
            continue
        of, age_group = groups[at]
        table = compiled(of, age_group.id, days_at)
        if table is not None:
            place[number] = len(tables)
            tables.append(table)
            continue
        for row, code in zip(rows[whole == number], texts["on"].codes[whole == number], strict=True):
            faults.add([row], attempt("on", compile_targets, of, age_group, days[int(code)])[1])
    return place[whole], tables, months[by_child]


def named_standard(name: str) -> Standard:
    """The standard of that name, held to the same form as in a request."""
    return standard(NamedStandard(standard=name).standard)


def named_day(text: str) -> date:
    """The day a cell names."""
    return NamedDay.model_validate({"on": text}).on


def _looked_up(
    field: str, column: TextColumn, look_up: Callable[[str], Found], rows: Place, faults: RowFaults
) -> dict[int, Found]:
    """What each text in use stands for, by code; a fault for those that stand for nothing or are missing."""
    import numpy as np

    found = {}
    with_code = RowsByCode(column.codes)
    for code in column.used():
        made, wrong = attempt(field, look_up, column.values[code])
        if made is None:
            faults.add(rows[with_code[code]], wrong)
        else:
            found[code] = made
    faults.add(rows[np.flatnonzero(column.codes < 0)], [Fault(field, "nothing", "is missing", "Add it.")])
    return found


def _ages(
    groups: TextColumn, figures: dict[str, Floats], rows: Place, faults: RowFaults
) -> tuple[Place, dict[int, Child]]:
    """Number the different children as far as their age goes; those with no fault, by number."""
    import numpy as np

    months, years = figures["age_months"], figures["age_years"]
    which, example = together(groups.codes, codes_of(months), codes_of(years))
    with_age = RowsByCode(which)
    ages: dict[int, Child] = {}
    for number, lunch in enumerate(example.tolist()):
        given: dict[str, object] = {}
        if groups.codes[lunch] >= 0:
            given["age_group"] = groups.values[groups.codes[lunch]]
        for name, values in (("age_months", months), ("age_years", years)):
            if not np.isnan(values[lunch]):
                given[name] = float(values[lunch])
        made, wrong = attempt("age_months", Child.model_validate, given)
        if made is None:
            faults.add(rows[with_age[number]], wrong)
        else:
            ages[number] = made
    return which, ages


@lru_cache(maxsize=1024)
def compiled(known: Standard, group: str, span: int) -> TargetTable | None:
    """The targets of an age group in a span of days: one table for all of them; None where no row of it holds."""
    on = first_days(known)[span]
    if not any(row.age_group == group and row.in_force(on) for row in known.rows):
        return None
    return compile_targets(known, known.group(group), on)


def span_of(known: Standard, on: date) -> int:
    """Which span of days, in all of which the same rows hold, a day falls in."""
    return bisect_right(first_days(known), on) - 1


@lru_cache(maxsize=64)
def first_days(known: Standard) -> list[date]:
    """The days from which another set of rows or rules holds than the day before, in order."""
    spans = [(row.from_day, row.until_day) for row in known.rows]
    spans += [(rule.from_day, rule.until_day) for rule in known.product_rules]
    spans += [(rule.from_day, rule.until_day) for rule in known.milk_rules]
    ends = {until + timedelta(days=1) for _from, until in spans if until is not None}
    return sorted({first for first, _until in spans} | ends)


def _avoidances(texts: dict[str, TextColumn], rows: Place, faults: RowFaults) -> tuple[Place, list[list[Avoidance]]]:
    import numpy as np

    names = ("avoids", "bans", "ban_threshold")
    whole, example = together(*(texts[name].codes for name in names))
    place = np.full(len(example), NOTHING_GIVEN, np.intp)
    with_these = RowsByCode(whole)
    found: list[list[Avoidance]] = []
    for number, lunch in enumerate(example.tolist()):
        avoids, bans, threshold = (
            texts[name].values[code] if (code := texts[name].codes[lunch]) >= 0 else "" for name in names
        )
        made, wrong = attempt("avoids", avoided, avoids, bans, threshold)
        if made is None:
            faults.add(rows[with_these[number]], wrong)
        else:
            place[number] = len(found)
            found.append(made)
    return place[whole], found


def avoided(avoids: str, bans: str, ban_threshold: str) -> list[Avoidance]:
    """What must be kept away, out of cells such as ``peanut;milk:contains`` and ``tree_nut``.

    Raises as the single check does for names and thresholds that are not known.
    """
    child: list[dict[str, str]] = []
    for entry in avoids.split(";"):
        name, colon, threshold = entry.partition(":")
        if entry.strip():
            child.append({"allergen": name} | ({"threshold": threshold.strip()} if colon else {}))
    setting: dict[str, object] = {"bans": [entry for entry in bans.split(";") if entry.strip()]}
    if ban_threshold:
        setting["ban_threshold"] = ban_threshold
    return avoidances_of(Child.model_validate({"avoids": child}), Setting.model_validate(setting))


def _holdings(
    texts: dict[str, TextColumn], figures: dict[str, Floats], rows: Place, faults: RowFaults
) -> tuple[Place, list[Holding]]:
    import numpy as np

    flags = ("insulated", "flask_preheated")
    numbers = ("cold_sources", "minutes_until_eaten", "ambient_c", "flask_filled_at_c")
    whole, example = together(*(texts[name].codes for name in flags), *(codes_of(figures[name]) for name in numbers))
    place = np.full(len(example), NOTHING_GIVEN, np.intp)
    with_these = RowsByCode(whole)
    found: list[Holding] = []
    for number, lunch in enumerate(example.tolist()):
        given: dict[str, object] = {
            name: float(figures[name][lunch]) for name in numbers if not np.isnan(figures[name][lunch])
        }
        wrong: list[Fault] = []
        for name in flags:
            code = texts[name].codes[lunch]
            word = texts[name].values[code].lower() if code >= 0 else ""
            if word in ("true", "false"):
                given[name] = word == "true"
            elif word:
                wrong.append(Fault(name, texts[name].values[code], "is neither true nor false", "Give true or false."))
        made, others = attempt("insulated", HoldingConditions.model_validate, given)
        wrong += others
        if made is None or wrong:
            faults.add(rows[with_these[number]], wrong)
            continue
        place[number] = len(found)
        found.append(
            Holding(
                made.insulated,
                made.cold_sources,
                made.minutes_until_eaten,
                made.ambient_c,
                made.flask_preheated,
                made.flask_filled_at_c,
            )
        )
    return place[whole], found
