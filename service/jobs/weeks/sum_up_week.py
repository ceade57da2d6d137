"""Sum up one child's week of lunches: each day, findings over the week, variety, cost, changes, and the trend.

The reply is a plain dictionary (published shape: service/api/weeks/replies.py). The order of the days and of the items
of a day does not matter.
"""

from collections.abc import Sequence
from datetime import date
from typing import Any

from service.domain.allergens.screening import Avoidance
from service.domain.cautions import CAUTIONS, status_cautions
from service.domain.errors import OutsideDates
from service.domain.foods.amounts import add_up
from service.domain.lunch.findings import judge
from service.domain.lunch.standards import TargetTable
from service.domain.weeks.week import ABSENT, WeekFinding, as_mean_of, week_findings
from service.jobs.lunch.check_lunch import age_in_months, avoidances_of, target_table
from service.jobs.lunch.reply import standard_row, table_cautions
from service.jobs.weeks.days import SchoolWeek, school_weeks
from service.jobs.weeks.money import PriceBook, cost_rows, price_book
from service.jobs.weeks.reply import (
    Reply,
    allergen_rows,
    day_rows,
    finding_rows,
    handling_rows,
    means_rows,
    micronutrient_rows,
    product_rows,
    variety_row,
    week_notes,
)
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.trend import trend_rows
from service.reference.weeks.frequencies import frequency_paths
from service.reference.weeks.lengths import day_references, week_lengths

MOST_NAMED = 4
"""How many rules that cannot be told the first sentence names."""
NOT_KEPT = ("short", "over")
OPEN_OUTCOMES = ("avoid", "may_contain", "check_label")


def sum_up_week(asked: WeekRequest) -> Reply:
    """Sum up a week.

    Raises ``LunchError`` (``ManyFaults`` for several) for anything that does not fit; nothing is summed up in part.
    """
    asked.first_day()  # refuses a week 53 that the year does not have before anything is read
    if asked.standard in frequency_paths():
        from service.jobs.weeks.by_frequency import sum_up_by_frequency

        return sum_up_by_frequency(asked)
    table = week_table(asked, judged_on(asked))
    crediting = table.standard.crediting
    weeks = school_weeks(asked, crediting, "primary")
    week = weeks[-1]
    book = price_book(asked)
    avoidances = avoidances_of(asked.child, asked.setting)
    age_months = age_in_months(asked.child, table)
    lengths = week_lengths(asked.standard)
    findings = week_findings(table, week.counted(), len(week.school_days), lengths)
    reply = parts_of_week(
        asked,
        weeks,
        book,
        avoidances,
        age_months,
        with_credits=bool(crediting),
        jurisdiction=table.standard.jurisdiction,
    )
    reply["standard"] = {**standard_row(table), "kind": "targets"}
    reply["findings"] = finding_rows(findings, week)
    reply["product_rules"] = product_rows(table, week)

    def statuses(one: SchoolWeek) -> Sequence[str] | None:
        if one is week:
            return [finding.status for finding in findings]
        try:
            earlier = week_table(asked, one.school_days[0] if one.school_days else one.monday)
        except OutsideDates:
            return None
        return [found.status for found in week_findings(earlier, one.counted(), len(one.school_days), lengths)]

    reply["trend"] = trend_rows(weeks, statuses, book, bool(crediting))
    if asked.max_changes and week.counted() and _open(reply):
        from service.jobs.weeks.changes import week_changes

        reply["changes"] = week_changes(asked, table, week, lengths, avoidances, age_months)
    reply["notes"] += _notes_of_rows(asked, table, week)
    cautions = [*CAUTIONS, *table_cautions(table)]
    cautions += status_cautions(_from_memory(reply), [])
    reply["cautions"] = cautions
    reply["summary"] = summary(reply)
    return reply


def judged_on(asked: WeekRequest) -> date:
    """The day whose rows are used for the week: its first school day, Monday where none is named."""
    return min(asked.school_days, default=asked.first_day()) if asked.school_days else asked.first_day()


def week_table(asked: WeekRequest, on: date) -> TargetTable:
    """The rows in force on a day; a day outside them is told as a fault of the week."""
    try:
        return target_table(asked.standard, asked.child, on)
    except OutsideDates as fault:
        fault.pointer = "/week"
        raise fault.under("") from None


def parts_of_week(
    asked: WeekRequest,
    weeks: Sequence[SchoolWeek],
    book: PriceBook | None,
    avoidances: list[Avoidance],
    age_months: int,
    *,
    with_credits: bool,
    jurisdiction: str,
) -> Reply:
    """The parts that do not hang on the kind of standard; the others are left empty."""
    week = weeks[-1]
    references = day_references(jurisdiction, age_months, asked.child.sex)
    counted = week.counted()
    totals = add_up([day.vector for day in counted] or [ABSENT])
    micronutrients = [
        WeekFinding(judge(as_mean_of(one.target, max(1, len(counted))), totals), len(counted)) for one in references
    ]
    reply: dict[str, Any] = {
        "week": asked.week,
        "first_day": asked.first_day().isoformat(),
        "last_day": asked.last_day().isoformat(),
        "nickname": asked.child.nickname or None,
        "summary": "",
        "standard": {},
        "school_days": len(week.school_days),
        "counted_days": len(counted),
        "missing": [on.isoformat() for on in week.missing()],
        "shown_apart": [day.on.isoformat() for day in week.days if day.kind == "bought" and day.vector is None],
        "days": day_rows(week, with_credits),
        "findings": [],
        "frequencies": [],
        "product_rules": [],
        "micronutrients": micronutrient_rows(references, micronutrients, week),
        "means": means_rows(week, with_credits),
        "variety": variety_row(week, weeks[:-1]),
        "allergens": allergen_rows(week, avoidances),
        "handling": handling_rows(week, age_months, asked.regions),
        "cost": None if book is None else cost_rows(week, book),
        "changes": [],
        "trend": [],
        "notes": week_notes(week),
        "cautions": [],
    }
    if not references:
        reply["notes"].append("No day's references for micronutrients are at hand for this jurisdiction and age.")
    return reply


def _open(reply: Reply) -> bool:
    return any(one["status"] in ("short", "over", "unknown") for one in reply["findings"])


def _notes_of_rows(asked: WeekRequest, table: TargetTable, week: SchoolWeek) -> list[str]:
    told = []
    last = week.school_days[-1] if week.school_days else week.monday
    if week_table(asked, last).targets != table.targets:
        later = [(one.id, one.at_least, one.at_most) for one in week_table(asked, last).targets]
        if later != [(one.id, one.at_least, one.at_most) for one in table.targets]:
            told.append(f"The rules change within this week; those of {table.on.isoformat()} were used for all of it.")
    days = len(week.school_days)
    if table.week_targets and days not in (0, 5):
        told.append(f"A school week of {days} days: amounts in the week go by the printed chart, or by the day.")
    return told


def _from_memory(reply: Reply) -> list[str]:
    rows = [*reply["findings"], *reply["frequencies"], *reply["product_rules"], *reply["micronutrients"]]
    return list(dict.fromkeys(row["label"] for row in rows if row["source_status"] == "memory"))


def summary(reply: Reply) -> str:
    """The sentence a parent reads first."""
    avoided = [row for row in reply["allergens"] if row["do_not_pack"]]
    said = ""
    if avoided:
        said = "Held something to be kept away: " + "; ".join(dict.fromkeys(row["name"] for row in avoided)) + ". "
    judged = [*reply["findings"], *reply["frequencies"]]
    if reply["counted_days"] == 0 and not any(row["over_days"] for row in judged):
        return said + "No day of this week has figures, so nothing can be told."
    off = [f"{_too(row)}{row['label']}" for row in judged if row["status"] in NOT_KEPT]
    open_ones = [row["label"] for row in judged if row["status"] == "unknown"]
    met = sum(row["status"] == "met" for row in judged)
    over = max((row["over_days"] for row in judged), default=reply["counted_days"])
    said += f"Over {over} of {reply['school_days']} school days {met} rule{' is' if met == 1 else 's are'} kept"
    said += f"; not kept: {'; '.join(off)}" if off else ""
    if len(open_ones) > MOST_NAMED:
        said += f"; cannot tell about {len(open_ones)}, among them {'; '.join(open_ones[:MOST_NAMED])}"
    elif open_ones:
        said += f"; cannot tell: {'; '.join(open_ones)}"
    return said + "."


def _too(row: Reply) -> str:
    return "too little of " if row["status"] == "short" else "too much of "


def week_in_order(reply: Reply) -> bool:
    """Whether every rule is met, nothing avoided or open was packed, and nothing is to mend in the handling."""
    judged = [*reply["findings"], *reply["frequencies"], *reply["product_rules"]]
    return (
        all(row["status"] in ("met", "not_applicable") for row in judged)
        and not any(row["do_not_pack"] or row["outcome"] in OPEN_OUTCOMES for row in reply["allergens"])
        and not reply["handling"]
    )
