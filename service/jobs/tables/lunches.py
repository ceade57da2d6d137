"""What the rows of a table say of each lunch as a whole: which targets, whose allergens, how it is kept.

Everything that is said alike for many lunches is looked up once, by the functions of the single check.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache

import numpy as np

from service.domain.allergens.screening import Avoidance
from service.domain.allergens.vocabulary import GS1_MARK
from service.domain.lunch.age_groups import AgeGroup
from service.domain.lunch.compiling import check_date, compile_targets, without_avoided
from service.domain.lunch.handling import Holding
from service.domain.lunch.standards import Standard, TargetTable
from service.domain.tables.codes import Floats, Place, each_once
from service.domain.tables.fields import LunchFields
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.lunch.resolve import holding_of
from service.jobs.lunch.targets import age_group_of, standard_for_lunch
from service.jobs.requests.fields import Asked, Day, Name
from service.jobs.requests.lunches import HoldingConditions
from service.jobs.requests.people import Child, Setting
from service.jobs.tables.columns import NumberColumn, TextColumn, codes_of
from service.jobs.tables.faults import RowFaults, attempt
from service.jobs.tables.looked_up import looked_up, looked_up_text
from service.jobs.tables.spans import compiled, span_of
from service.jobs.tables.yardsticks import yardsticks_of

NOTHING_GIVEN = -1


class NamedStandard(Asked):
    """The standard of a row, held to the same form as in a request."""

    standard: Name


class NamedDay(Asked):
    """The day of a row, held to the same form as in a request."""

    on: Day


def lunch_fields(
    texts: dict[str, TextColumn], numbers: dict[str, NumberColumn], rows: Place, faults: RowFaults
) -> LunchFields:
    """Look up what the first row of each lunch says; faults are noted for that row.

    ``rows``: (n,) the first row of each lunch.
    """
    first = {name: column.of(rows) for name, column in texts.items()}
    figures = {name: column.values[rows] for name, column in numbers.items()}
    on, on_days = looked_up_text("on", first["on"], named_day, faults, rows=rows, needed=True)
    table, tables, months = _targets(first, on, on_days, figures, rows, faults)
    avoided, avoidances = _avoidances(first, rows, faults)
    table, tables = _without_avoided(table, tables, avoided, avoidances)
    kept, holdings = _holdings(first, figures, rows, faults)
    beside, yardsticks = yardsticks_of(first["yardsticks"], on, on_days, months, rows, faults)
    days = first["on"]
    return LunchFields(
        table, tables, avoided, avoidances, kept, holdings, months, days.codes, days.values, beside, yardsticks
    )


def _targets(
    texts: dict[str, TextColumn],
    on: Place,
    days: list[date],
    figures: dict[str, Floats],
    rows: Place,
    faults: RowFaults,
) -> tuple[Place, list[TargetTable], Place]:
    """Each lunch's compiled table: by standard and child the age group, by standard and day the span of days."""
    standards, known = looked_up_text("standard", texts["standard"], named_standard, faults, rows=rows, needed=True)
    child, children = _children(texts["age_group"], figures, rows, faults)

    def group_and_months(lunch: int) -> tuple[AgeGroup, int] | None:
        if standards[lunch] < 0 or child[lunch] < 0:
            return None
        age = children[child[lunch]]
        group, months = age_group_of(known[standards[lunch]], age), age.months()
        return group, group.from_age_months if months is None else months

    def span(lunch: int) -> int | None:
        if standards[lunch] < 0 or on[lunch] < 0:
            return None
        check_date(known[standards[lunch]], days[on[lunch]])
        return span_of(known[standards[lunch]], days[on[lunch]])

    aged, ages = looked_up("age_months", group_and_months, faults, standards, child, rows=rows)
    in_span, spans = looked_up("on", span, faults, standards, on, rows=rows)
    groups = list(dict.fromkeys(group for group, _months in ages))
    group_at = np.array([*(groups.index(group) for group, _months in ages), -1], np.intp)[aged]
    months = np.array([*(months for _group, months in ages), NOTHING_GIVEN], np.intp)[aged]
    span_at = np.array([*spans, -1], np.intp)[in_span]

    def table(lunch: int) -> TargetTable | None:
        if group_at[lunch] < 0 or span_at[lunch] < 0:
            return None
        return compiled(known[standards[lunch]], groups[group_at[lunch]].id, int(span_at[lunch]))

    place, tables = each_once(table, standards, group_at, span_at)
    for lunch in np.flatnonzero((place < 0) & (group_at >= 0) & (span_at >= 0)).tolist():  # no row holds on its day
        group, day = groups[group_at[lunch]], days[on[lunch]]
        faults.add([rows[lunch]], attempt("on", compile_targets, known[standards[lunch]], group, day)[1])
    return place, tables, months


def _without_avoided(
    table: Place, tables: list[TargetTable], avoided: Place, avoidances: list[list[Avoidance]]
) -> tuple[Place, list[TargetTable]]:
    """The tables without what asks for a food that the child must not have, as in the single check."""

    def asked_of(lunch: int) -> TargetTable | None:
        if table[lunch] < 0 or avoided[lunch] < 0:
            return None
        whole = tables[table[lunch]]
        own = {one.allergen for one in avoidances[avoided[lunch]] if one.by == "child"}
        return _asked_of(whole, frozenset(own.intersection(rule.allergen for rule in whole.substitute_rules)))

    place, found = each_once(asked_of, table, avoided)
    different = list(dict.fromkeys(found))  # a table for each set of avoidances would judge every lunch alone
    return np.array([*map(different.index, found), -1], np.intp)[place], different


_asked_of = lru_cache(maxsize=1024)(without_avoided)


def named_standard(name: str) -> Standard:
    """The standard of that name, held to the same form as in a request."""
    return standard_for_lunch(NamedStandard(standard=name).standard)


def named_day(text: str) -> date:
    """The day a cell names."""
    return NamedDay.model_validate({"on": text}).on


def _children(
    groups: TextColumn, figures: dict[str, Floats], rows: Place, faults: RowFaults
) -> tuple[Place, list[Child]]:
    """The different children as far as their age goes."""
    numbers = {name: figures[name] for name in ("age_months", "age_years")}

    def child(lunch: int) -> Child:
        given = {name: float(values[lunch]) for name, values in numbers.items() if not np.isnan(values[lunch])}
        return Child.model_validate(given | ({"age_group": group} if (group := groups.at(lunch)) else {}))

    codes = (groups.codes, *(codes_of(values) for values in numbers.values()))
    return looked_up("age_months", child, faults, *codes, rows=rows)


def _avoidances(texts: dict[str, TextColumn], rows: Place, faults: RowFaults) -> tuple[Place, list[list[Avoidance]]]:
    columns = [texts[name] for name in ("avoids", "bans", "ban_threshold")]

    def avoidances(lunch: int) -> list[Avoidance]:
        return avoided(*(column.at(lunch) or "" for column in columns))

    return looked_up("avoids", avoidances, faults, *(column.codes for column in columns), rows=rows)


def avoided(avoids: str, bans: str, ban_threshold: str) -> list[Avoidance]:
    """What must be kept away, out of cells such as ``peanut;milk:contains;gs1:AE`` and ``tree_nut``.

    Raises as the single check does for names and thresholds that are not known.
    """
    child: list[dict[str, str]] = []
    for entry in avoids.split(";"):
        if entry.strip():
            mark, name = _marked(entry.strip())
            name, colon, threshold = name.partition(":")
            child.append({"allergen": mark + name} | ({"threshold": threshold.strip()} if colon else {}))
    setting: dict[str, object] = {"bans": [entry for entry in bans.split(";") if entry.strip()]}
    if ban_threshold:
        setting["ban_threshold"] = ban_threshold
    return avoidances_of(Child.model_validate({"avoids": child}), Setting.model_validate(setting))


def _marked(entry: str) -> tuple[str, str]:
    """The mark of a GS1 code, whose colon comes before no threshold, and the rest: ``gs1:AM:contains`` is milk."""
    return (GS1_MARK, entry.removeprefix(GS1_MARK)) if entry.startswith(GS1_MARK) else ("", entry)


def _holdings(
    texts: dict[str, TextColumn], figures: dict[str, Floats], rows: Place, faults: RowFaults
) -> tuple[Place, list[Holding]]:
    flags = {name: texts[name] for name in ("insulated", "flask_preheated")}
    numbers = {
        name: figures[name] for name in ("cold_sources", "minutes_until_eaten", "ambient_c", "flask_filled_at_c")
    }

    def holding(lunch: int) -> Holding:
        given: dict[str, object] = {
            name: float(values[lunch]) for name, values in numbers.items() if not np.isnan(values[lunch])
        }
        for name, column in flags.items():
            word = column.at(lunch)
            if word:
                given[name] = {"true": True, "false": False}.get(word.lower(), word)
        return holding_of(HoldingConditions.model_validate(given))

    codes = [column.codes for column in flags.values()] + [codes_of(values) for values in numbers.values()]
    return looked_up("insulated", holding, faults, *codes, rows=rows)
