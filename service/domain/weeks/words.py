"""Plain sentences about a week: which days were counted, which were not, and what a rule of each day came to."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

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


DAY_NOTES: Mapping[str, str] = {
    "missing": "Nobody logged this school day; it is not filled.",
    "none": "No school lunch on this day; it does not count.",
}
VARIETY_WORDS = (("fruit", "fruit"), ("vegetable", "vegetables"), ("main", "mains"))
MOST_NAMED = 4
"""How many rules that cannot be decided the first sentence names."""


def day_note(kind: str, *, counted: bool, eaten_less: bool) -> str:
    """Why a day counts as it does; nothing for a day that counts as packed."""
    if kind in DAY_NOTES:
        return DAY_NOTES[kind]
    if not counted:
        return "Bought, and the menu's figures are not given: shown apart and not counted."
    return "Counted as eaten: what came back is taken off." if eaten_less else ""


def week_notes(missing: Sequence[date], shown_apart: Sequence[date]) -> list[str]:
    """What to say of the days: which are missing, which are shown apart."""
    notes = []
    if missing:
        notes.append("Nobody logged " + ", ".join(day_words(on) for on in missing) + "; nothing was filled in.")
    if shown_apart:
        named = ", ".join(day_words(on) for on in shown_apart)
        notes.append(f"Bought without figures, shown apart and not counted: {named}.")
    return notes


def rules_change_words(on: date) -> str:
    """The rules change within the week."""
    return f"The rules change within this week; those of {on.isoformat()} were used for all of it."


def short_week_words(days: int) -> str:
    """A week of another length than five days."""
    return f"A school week of {days} days: amounts in the week go by the printed chart, or by the day."


def variety_words(kinds: Mapping[str, int], over: int, school_days: int) -> str:
    """How many kinds there were of fruit, vegetables and mains."""
    counts = ", ".join(
        f"{kinds[group]} {'kind' if kinds[group] == 1 else 'kinds'} of {words}" for group, words in VARIETY_WORDS
    )
    return f"{counts}, over {over} of {school_days} school days."


def summary_words(
    kept_away: Sequence[str], judged: Sequence[tuple[str, str]], over: int, school_days: int, *, nothing_known: bool
) -> str:
    """The sentence a parent reads first.

    ``kept_away``: foods that must not be packed and were; ``judged``: the status and label of each rule over the week.
    """
    said = "Held something to be kept away: " + "; ".join(dict.fromkeys(kept_away)) + ". " if kept_away else ""
    if nothing_known:
        return said + "No day of this week has figures, so nothing can be told."
    much = {"short": "too little of ", "over": "too much of "}
    off = [much[status] + label for status, label in judged if status in much]
    open_ones = [label for status, label in judged if status == "unknown"]
    met = sum(status == "met" for status, _label in judged)
    said += f"Over {over} of {school_days} school days {met} rule{' is' if met == 1 else 's are'} kept"
    said += f"; not kept: {'; '.join(off)}" if off else ""
    if len(open_ones) > MOST_NAMED:
        said += f"; cannot tell about {len(open_ones)}, among them {'; '.join(open_ones[:MOST_NAMED])}"
    elif open_ones:
        said += f"; cannot tell: {'; '.join(open_ones)}"
    return said + "."


def money(minor: int, currency: str, decimals: int) -> str:
    """Minor units as text. ``decimals``: how many the currency has.

    >>> money(123456, "KWD", 3), money(1234, "JPY", 0)
    ('123.456 KWD', '1,234 JPY')
    """
    return f"{Decimal(minor).scaleb(-decimals):,.{decimals}f} {currency}"


def cost_words(currency: str, decimals: int, kinds: Mapping[str, Mapping[str, Any]], unpriced: Sequence[str]) -> str:
    """What the packed and the bought lunches cost together and a day; ``kinds``: days, sums, whether complete."""
    parts = []
    for kind, one in kinds.items():
        if one["days"]:
            least = "" if one["complete"] else "at least "
            parts.append(
                f"{one['days']} {kind}: {least}{money(one['amount_minor'], currency, decimals)}, "
                f"{least}{money(one['a_day_minor'], currency, decimals)} a day"
            )
    said = ("; ".join(parts) or "No lunch to price") + "."
    return said + (f" No price for: {', '.join(unpriced)}." if unpriced else "")
