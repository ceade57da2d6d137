"""What is said of a week: which days were counted, which were not, and what a rule of each day came to."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from service.domain.lunch.findings import finding_message, wanted
from service.domain.lunch.findings import rounded as rounded_amount
from service.domain.messages import Message, Value, message
from service.domain.weeks.week import WeekFinding

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def weekday(on: date) -> str:
    """Monday to Sunday."""
    return WEEKDAYS[on.weekday()]


def of_days(number: int, days: int) -> str:
    """So many of so many days, in a table.

    >>> of_days(3, 5), of_days(1, 1)
    ('3 of 5 days', '1 of 1 day')
    """
    return f"{number} of {days} {'day' if days == 1 else 'days'}"


def over_messages(over: int, school_days: int, absent: Sequence[date]) -> list[Message]:
    """Nothing for a whole week; else over how many days, and which are without figures."""
    if over >= school_days:
        return []
    return [message("week.over-days", over=over, school_days=school_days, absent=[on.isoformat() for on in absent])]


def with_notes(said: Message, notes: Sequence[Message]) -> Message:
    """A sentence and what is added to it."""
    return message("week.with-notes", said=said, notes=list(notes)) if notes else said


def week_message(
    finding: WeekFinding, school_days: int, absent: Sequence[date], missing: Sequence[str], rounded: Sequence[str]
) -> Message:
    """Say one finding of a week.

    ``absent``: school days without figures; ``missing``, ``rounded``: items without a figure, items with a rounded one.
    """
    notes = [*_guide_messages(finding), *over_messages(finding.over, school_days, absent)]
    return with_notes(_finding(finding, school_days, missing, rounded), notes if finding.over else [])


def _finding(finding: WeekFinding, school_days: int, missing: Sequence[str], rounded: Sequence[str]) -> Message:
    judgement = finding.judgement
    target = judgement.target
    label, unit, asked = target.label, target.unit, wanted(target)
    if finding.over == 0:
        return message("week.no-figures", label=label, wanted=asked)
    if target.firm:
        return _daily(finding)
    counted_up = judgement.status == "unknown" and target.basis == "week_total"
    if counted_up and not (missing or rounded):
        low = rounded_amount(judgement.low, unit, target.at_least)
        return message("week.so-far", label=label, low=low, unit=unit, wanted=asked)
    if judgement.status == "not_applicable":
        return message("week.no-energy", label=label, wanted=asked)
    if finding.share_percent is not None:
        return message("week.share", label=label, percent=round(finding.share_percent, 1))
    shares = not (target.low or target.high)
    if judgement.status == "unknown" and shares and target.kind == "combination":
        return message("week.not-comparable", label=label, names=[*missing, *rounded])
    days_open = counted_up and finding.over < school_days and not shares
    return finding_message(judgement, missing, rounded, [message("week.days-not-counted")] if days_open else [])


def _guide_messages(finding: WeekFinding) -> list[Message]:
    """The upper end of a printed range, which is a guide and decides nothing."""
    guide, judgement = finding.guide_at_most, finding.judgement
    if guide is None:
        return []
    unit = judgement.target.unit
    if judgement.low > guide:
        return [message("week.above-guide", guide=guide, unit=unit)]
    return [message("week.guide", guide=guide, unit=unit)]


def _daily(finding: WeekFinding) -> Message:
    target = finding.judgement.target
    unit = target.unit
    kept = sum(one.status in ("met", "not_applicable") for _on, one in finding.days)
    off = []
    for day, one in finding.days:
        on = day.isoformat()
        if one.status == "short":
            off.append(
                message("week.day-short", on=on, amount=rounded_amount(one.amount, unit, target.at_least), unit=unit)
            )
        elif one.status == "over":
            off.append(
                message("week.day-over", on=on, amount=rounded_amount(one.amount, unit, target.at_most), unit=unit)
            )
        elif one.status == "unknown":
            off.append(
                message("week.day-unknown", on=on, low=rounded_amount(one.low, unit, target.at_least), unit=unit)
            )
    days, asked = len(finding.days), wanted(target)
    if off:
        return message("week.daily-off", label=target.label, kept=kept, days=days, off=off, wanted=asked)
    return message("week.daily", label=target.label, kept=kept, days=days, wanted=asked)


def reference_message(
    finding: WeekFinding,
    kind: str,
    day_amount: float,
    school_days: int,
    absent: Sequence[date],
    missing: Sequence[str],
    *,
    greater_of_two: bool,
) -> Message:
    """Say a week's average lunch against a third of a day's reference."""
    judgement = finding.judgement
    target, status = judgement.target, judgement.status
    label, unit = target.label, target.unit
    third = rounded_amount(target.at_least or 0, unit)
    share = message("week.third", kind=kind, day_amount=day_amount, third=third, unit=unit)
    notes = over_messages(finding.over, school_days, absent)
    if greater_of_two:
        notes.append(message("week.greater-of-two"))
    amount = rounded_amount(judgement.amount, unit, target.at_least)
    if finding.over == 0:
        return message("week.reference-no-figures", label=label, third=share)
    if status == "unknown":
        reasons = [message("finding.no-figure", names=list(missing))] if missing else []
        low = rounded_amount(judgement.low, unit, target.at_least)
        said = message("week.reference-unknown", label=label, low=low, unit=unit, third=share, reasons=reasons)
    elif status == "short":
        said = message("week.reference-short", label=label, amount=amount, unit=unit, third=share)
    elif judgement.high is None:
        low = rounded_amount(judgement.low, unit, target.at_least)
        said = message("week.reference-met-from", label=label, low=low, unit=unit, third=share)
    else:
        said = message("week.reference-met", label=label, amount=amount, unit=unit, third=share)
    return with_notes(said, notes)


def count_message(least: float, most: float | None, unit: str) -> Message:
    """A count that may have an unknown end: "2", "2 or more", "2 to 4"."""
    if most == least:
        return message("count.exact", least=least, unit=unit)
    if most is None:
        return message("count.or-more", least=least, unit=unit)
    return message("count.range", least=least, most=most, unit=unit)


MOST_NAMED = 4
"""How many rules that are not known the first sentence names."""


def day_note(kind: str, *, counted: bool, eaten_less: bool) -> Message | None:
    """Why a day counts as it does; None for a day that counts as packed."""
    if kind == "missing":
        return message("day-note.not-logged")
    if kind == "none":
        return message("day-note.no-school-lunch")
    if not counted:
        return message("day-note.menu-without-figures")
    return message("day-note.what-came-back") if eaten_less else None


def week_notes(missing: Sequence[date], shown_apart: Sequence[date]) -> list[Message]:
    """What to say of the days: which are missing, which are shown apart."""
    notes = []
    if missing:
        notes.append(message("week-note.not-logged", days=[on.isoformat() for on in missing]))
    if shown_apart:
        notes.append(message("week-note.bought-without-figures", days=[on.isoformat() for on in shown_apart]))
    return notes


def variety_message(kinds: Mapping[str, int], over: int, school_days: int) -> Message:
    """How many kinds there were of fruit, vegetables and mains."""
    return message(
        "week.variety",
        fruit=kinds["fruit"],
        vegetables=kinds["vegetable"],
        mains=kinds["main"],
        over=over,
        school_days=school_days,
    )


def summary_message(
    kept_away: Sequence[str], judged: Sequence[tuple[str, str]], over: int, school_days: int, *, nothing_known: bool
) -> Message:
    """The sentence a parent reads first.

    ``kept_away``: foods that must not be packed and were; ``judged``: the status and label of each rule over the week.
    """
    parts = [message("week-summary.held", names=list(dict.fromkeys(kept_away)))] if kept_away else []
    if nothing_known:
        return message("text.sentences", parts=[*parts, message("week-summary.no-figures")])
    met = sum(status == "met" for status, _label in judged)
    parts.append(message("week-summary.kept", over=over, school_days=school_days, met=met))
    off = [
        message("summary.too-little", label=label) if status == "short" else message("summary.too-much", label=label)
        for status, label in judged
        if status in ("short", "over")
    ]
    if off:
        parts.append(message("week-summary.not-kept", reasons=off))
    open_ones = [label for status, label in judged if status == "unknown"]
    if len(open_ones) > MOST_NAMED:
        named = open_ones[:MOST_NAMED]
        parts.append(message("week-summary.many-not-known", number=len(open_ones), labels=named))
    elif open_ones:
        parts.append(message("week-summary.not-known", labels=open_ones))
    return message("text.sentences", parts=parts)


def money_message(minor: int, currency: str, decimals: int) -> Message:
    """A sum of money."""
    return message("cost.money", amount=minor, currency=currency, digits=decimals)


def cost_message(
    currency: str,
    decimals: int,
    kinds: Mapping[str, Mapping[str, Any]],
    unpriced: Sequence[str],
    own_price_days: int,
    not_counted: Sequence[Message],
) -> Message:
    """What the packed and the bought lunches cost together and a day; ``kinds``: days, sums, whether complete.

    ``own_price_days``: on how many days a meal was bought at the child's own price. ``not_counted``: prices that are not, in words.
    """
    parts = []
    for kind, one in kinds.items():
        if not one["days"]:
            continue
        values: dict[str, Value] = {
            "days": one["days"],
            "kind": kind,
            "total": one["amount_minor"],
            "a_day": one["a_day_minor"],
            "currency": currency,
            "digits": decimals,
        }
        if one["complete"]:
            parts.append(message("cost.sum", **values))
        elif one["amount_minor"]:
            parts.append(message("cost.sum-at-least", **values))
        else:
            parts.append(message("cost.sum-unknown", days=one["days"], kind=kind))
    if not parts:
        parts.append(message("cost.none"))
    if own_price_days:
        parts.append(message("cost.own-price", days=own_price_days))
    if unpriced:
        parts.append(message("cost.no-price", names=list(unpriced)))
    parts += not_counted
    return message("text.sentences", parts=parts)


def household_cost_message(currency: str, decimals: int, children: int, total: int, complete: bool) -> Message:
    """What the lunches of all children of a household cost together, in minor units."""
    values: dict[str, Value] = {"children": children, "total": total, "currency": currency, "digits": decimals}
    return message("cost.household", **values) if complete else message("cost.household-at-least", **values)
