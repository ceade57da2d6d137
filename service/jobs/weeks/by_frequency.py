"""A week by a standard of frequencies and portions: England's school food standards."""

from collections.abc import Sequence
from datetime import date

from service.domain.cautions import CAUTIONS, status_cautions
from service.domain.errors import OutsideDates, at
from service.domain.weeks.frequency import FrequencyDay, FrequencyFinding, frequency_findings
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.lunch.reply import unchecked_day
from service.jobs.lunch.targets import age_group_of, age_in_months
from service.jobs.weeks.days import SchoolWeek, school_weeks
from service.jobs.weeks.money import price_book
from service.jobs.weeks.reply import Reply, frequency_rows
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.sum_up_week import judged_on, parts_of_week, summary
from service.jobs.weeks.trend import trend_rows
from service.reference.weeks.frequencies import FrequencyStandard, frequency_standard


def sum_up_by_frequency(asked: WeekRequest) -> Reply:
    """Sum up a week by a standard of frequencies; figures are told beside it, judged by no target of its own."""
    known = frequency_standard(asked.standard)
    with at("child"):
        group = age_group_of(known, asked.child)
    on = judged_on(asked)
    try:
        rows = known.in_force(group, on)
    except OutsideDates as fault:
        fault.pointer = "/week"
        raise fault.under("") from None
    weeks = school_weeks(asked, "", group.id)
    week = weeks[-1]
    book = price_book(asked)
    avoidances = avoidances_of(asked.child, asked.setting)
    age_months = age_in_months(asked.child, group)
    findings = frequency_findings(rows, *_days(weeks, week), asked.vegetarian)
    reply = parts_of_week(
        asked, weeks, book, avoidances, age_months, with_credits=False, jurisdiction=known.jurisdiction
    )
    reply["standard"] = _standard_row(known, group.id, group.title, on)
    reply["frequencies"] = frequency_rows(findings, week)

    def statuses(one: SchoolWeek) -> Sequence[str] | None:
        try:
            earlier = known.in_force(group, one.monday)
        except OutsideDates:
            return None
        return [found.status for found in frequency_findings(earlier, *_days(weeks, one), asked.vegetarian)]

    reply["trend"] = trend_rows(weeks, statuses, book, False)
    if asked.max_changes and _off(findings):
        from service.jobs.weeks.frequency_changes import frequency_changes

        reply["changes"] = frequency_changes(asked, rows, weeks, group.id, findings, avoidances, age_months)
    reply["notes"] = [
        "These rules bind schools, not a lunch from home: a yardstick, not compliance.",
        "Which food counts as what is our reading; where no weight of a portion is known, one item is one portion.",
        *reply["notes"],
    ]
    cautions = [*CAUTIONS, *unchecked_day(known.id, known.checked_until, on)]
    memory = [row["label"] for row in reply["micronutrients"] if row["source_status"] == "memory"]
    cautions += status_cautions([*memory, "some portion sizes"], [])
    reply["cautions"] = cautions
    reply["summary"] = summary(reply)
    return reply


def _standard_row(known: FrequencyStandard, group_id: str, title: str, on: date) -> Reply:
    return {
        "id": known.id,
        "title": known.title,
        "citation": known.citation,
        "about": known.about,
        "historical": known.historical,
        "age_group": group_id,
        "age_group_title": title,
        "on": on.isoformat(),
        "kind": "frequencies",
    }


def school_days_of(week: SchoolWeek) -> list[FrequencyDay]:
    """The school days of a week with what was eaten on each, None where nobody said."""
    logged = {day.on: day.counted for day in week.days}
    return [FrequencyDay(on, logged.get(on)) for on in week.school_days]


def _days(weeks: Sequence[SchoolWeek], week: SchoolWeek) -> tuple[list[FrequencyDay], list[FrequencyDay], date]:
    """The days of a week, those of the weeks before it, and its Monday."""
    earlier = [day for one in weeks if one.monday < week.monday for day in school_days_of(one)]
    return school_days_of(week), earlier, week.monday


def _off(findings: Sequence[FrequencyFinding]) -> bool:
    return any(one.status in ("short", "over", "unknown") for one in findings)
