"""Plain sentences about a week: which days were counted, which were not, and what a rule of each day came to."""

from collections.abc import Sequence
from datetime import date

from service.domain.lunch.findings import bound_text, number, sentence, wanted
from service.domain.weeks.week import WeekFinding

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def weekday(on: date) -> str:
    """Monday to Sunday."""
    return WEEKDAYS[on.weekday()]


def day_words(on: date) -> str:
    """A day as one says it: Monday 30 November."""
    return f"{weekday(on)} {on.day} {MONTHS[on.month - 1]}"


def over_words(over: int, school_days: int, absent: Sequence[date]) -> str:
    """Nothing for a whole week; else over how many days, and which are without figures."""
    if over >= school_days:
        return ""
    days = f"{over} of {school_days} school day{'' if school_days == 1 else 's'}"
    return f" Over {days}: no figures for {', '.join(day_words(on) for on in absent)}."


def week_sentence(
    finding: WeekFinding, school_days: int, absent: Sequence[date], missing: Sequence[str], rounded: Sequence[str]
) -> str:
    """Say one finding of a week.

    ``absent``: school days without figures; ``missing``, ``rounded``: items without a figure, items with a rounded one.
    """
    tail = _guide_words(finding) + over_words(finding.over, school_days, absent)
    judgement = finding.judgement
    target = judgement.target
    label = target.label[:1].upper() + target.label[1:]
    if finding.over == 0:
        return f"{label}: no day of this week has figures. Wanted: {wanted(target)}."
    if target.firm:
        return _daily_sentence(finding, label) + tail
    if judgement.status == "unknown" and target.basis == "week_total" and not (missing or rounded):
        unit = target.unit
        return f"{label}: {number(judgement.low, unit)} {unit} so far. Wanted: {wanted(target)}.{tail}"
    if judgement.status == "not_applicable":
        return f"{label}: these days have no energy, so no share of it. Wanted: {wanted(target)}.{tail}"
    if finding.share_percent is not None:
        return f"{label}: {number(finding.share_percent, 'g')} %.{tail}"
    shares = not (target.low or target.high)
    if judgement.status == "unknown" and target.basis == "week_total" and finding.over < school_days and not shares:
        missing = [*missing, "the days not counted"]
    if judgement.status == "unknown" and shares and target.kind == "combination":
        reasons = "; ".join([*missing, *rounded])
        return f"{label}: nobody can tell, because there is no exact figure for {reasons}.{tail}"
    return sentence(judgement, missing, rounded) + tail


def _guide_words(finding: WeekFinding) -> str:
    """The upper end of a printed range, which is a guide and decides nothing."""
    guide, judgement = finding.guide_at_most, finding.judgement
    if guide is None:
        return ""
    unit = judgement.target.unit
    passed = "this week is above it" if judgement.low > guide else "it decides nothing"
    return f" The printed range ends at {bound_text(guide)} {unit}, a guide only: {passed}."


def _daily_sentence(finding: WeekFinding, label: str) -> str:
    target = finding.judgement.target
    words = {"short": "too little", "over": "too much", "unknown": "cannot tell"}
    kept = sum(one.status in ("met", "not_applicable") for _on, one in finding.days)
    said = f"{label}: kept on {kept} of {len(finding.days)} days"
    off = [
        f"{weekday(on)} {words[one.status]} ({number(one.low if one.status == 'unknown' else one.amount, target.unit, None)} {target.unit})"
        for on, one in finding.days
        if one.status in words
    ]
    if off:
        said += "; " + ", ".join(off)
    return f"{said}. Wanted: {wanted(target)}."


def reference_sentence(
    finding: WeekFinding, kind: str, day_amount: float, school_days: int, absent: Sequence[date], missing: Sequence[str]
) -> str:
    """Say a week's mean lunch against a third of a day's reference."""
    judgement = finding.judgement
    target = judgement.target
    unit = target.unit
    label = target.label[:1].upper() + target.label[1:]
    asked = f"a third of the day's {kind} of {number(day_amount, unit)} {unit} is {number(target.at_least or 0, unit)} {unit}"
    if finding.over == 0:
        return f"{label}: no day of this week has figures; {asked}."
    said = f"{number(judgement.amount, unit)} {unit} in the mean lunch"
    if judgement.status == "unknown":
        said = f"{number(judgement.low, unit)} {unit} in the mean lunch at least; nobody can tell"
        said += f", because there is no figure for {'; '.join(missing)}" if missing else ""
    words = {"met": "reached", "short": "not reached"}.get(judgement.status, "")
    return f"{label}: {said}; {asked}{': ' + words if words else ''}.{over_words(finding.over, school_days, absent)}"


def count_words(least: float, most: float | None, noun: str) -> str:
    """A count that may have an unknown end: "2", "2 at least", "2 to 4"."""
    low = bound_text(least) or "0"
    if least == 1 and most in (1, None):
        noun = noun.removesuffix("s")
    if most == least:
        return f"{low} {noun}"
    return f"{low} {noun} at least" if most is None else f"{low} to {bound_text(most) or '0'} {noun}"
