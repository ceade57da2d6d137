"""Says what a week came to, as plain dictionaries (published shape: service/api/weeks/replies.py)."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from service.domain.cautions import CAUTIONS, status_cautions
from service.domain.foods.amounts import Totals, add_up
from service.domain.lunch.standards import TargetTable
from service.domain.measures import MEASURES, NUTRIENT_COUNT, SCALE
from service.domain.messages import Message, message
from service.domain.weeks.cost import rounded
from service.domain.weeks.frequency import FrequencyFinding, frequency_message, wanted_message
from service.domain.weeks.judging import JudgedWeek, TargetRules, TrendWeek
from service.domain.weeks.packed_days import HandledOnDays, RuleOnDays, ScreenedOnDays
from service.domain.weeks.variety import Variety
from service.domain.weeks.week import WeekFinding
from service.domain.weeks.words import (
    day_note,
    over_messages,
    reference_message,
    summary_message,
    variety_message,
    week_message,
    week_notes,
    weekday,
)
from service.jobs.allergens.reply import not_read_cautions, screened_row
from service.jobs.foods.salted_water import salted_water_cautions
from service.jobs.lunch.cautions import table_cautions, unchecked_day
from service.jobs.lunch.reply import handling_row, judged_by, standard_row, totals_rows
from service.jobs.lunch.yardsticks import yardstick_row
from service.jobs.weeks.cost_rows import cost_rows
from service.jobs.weeks.days import DayOfWeek, SchoolWeek
from service.jobs.weeks.prices import names_of_no_food
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.resolve import ResolvedWeek
from service.reference.messages import listed_as, say, worded, worded_as
from service.reference.weeks.lengths import DayReference

Reply = dict[str, Any]


def week_reply(asked: WeekRequest, made: ResolvedWeek, judged: JudgedWeek, changes: list[Reply]) -> Reply:
    """The whole reply."""
    week, credits = made.week, made.with_credits
    own = made.rules[-1]
    table = own.table if isinstance(own, TargetRules) else None
    reply: Reply = {
        "week": asked.week,
        "first_day": asked.first_day().isoformat(),
        "last_day": asked.last_day().isoformat(),
        "nickname": asked.child.nickname or None,
        "summary": "",
        "standard": {},
        "school_days": len(week.school_days),
        "counted_days": len(week.counted()),
        "missing": [on.isoformat() for on in week.missing()],
        "shown_apart": [on.isoformat() for on in week.shown_apart()],
        "days": day_rows(week, credits),
        "findings": [_finding_row(one, week) for one in judged.findings],
        "frequencies": frequency_rows(judged.frequencies, week),
        "product_rules": product_rows(judged.products),
        "micronutrients": micronutrient_rows(made.references, judged.references, week),
        "means": {} if judged.totals is None else means_rows(judged.totals, len(week.counted()), credits),
        "variety": variety_row(judged.variety, week),
        "allergens": allergen_rows(judged.screened),
        "handling": handling_rows(judged.handling),
        "cost": None if judged.cost is None else cost_rows(judged.cost, [asked.child.nickname or ""]),
        "changes": changes,
        "trend": [trend_row(one) for one in judged.trend],
        "yardsticks": [
            yardstick_row(
                one.yardstick,
                [found.judgement.status for found in one.findings],
                [_finding_row(found, week) for found in one.findings],
            )
            for one in judged.beside
        ],
        "corrections": [],
        "notes": [],
        "cautions": [],
    }
    notes = week_notes(week.missing(), week.shown_apart())
    cautions = [*CAUTIONS, *not_read_cautions(food for day in week.days for food in day.foods)]
    not_told = (day for day in week.days if day.asked.salts_cooking_water is None)
    cautions += salted_water_cautions((food for day in not_told for food in day.foods), asked.salts_cooking_water)
    unknown = names_of_no_food(asked)
    if unknown:
        notes.append(message("week-note.price-of-no-food", names=unknown))
    if not made.references:
        notes.append(message("week-note.no-references"))
    if table is not None:
        reply["standard"] = {**standard_row(table), "kind": "targets"}
        notes += _notes_of_rows(table, made.last_table or table, week)
        cautions += [*table_cautions(table), *status_cautions(_from_memory(reply), [])]
    elif made.frequencies is not None:
        reply["standard"] = judged_by(made.frequencies.standard, made.frequencies.group, made.frequencies.on) | {
            "kind": "frequencies"
        }
        for_home = made.frequencies.standard.for_lunch_boxes
        whose = message("week-note.for-lunch-boxes") if for_home else message("week-note.rules-for-schools")
        notes = [whose, message("week-note.our-reading"), *notes]
        memory: list[str | Message] = [
            row["label"] for row in reply["micronutrients"] if row["source_status"] == "memory"
        ]
        named = made.frequencies
        cautions += unchecked_day(named.standard.id, named.standard.checked_until, named.on)
        if any(row["unit"] == "portions" for row in reply["frequencies"]):
            memory.append(message("caution.portion-sizes"))
        cautions += status_cautions(memory, [])
    reply |= listed_as("note", notes) | listed_as("caution", cautions) | worded_as("summary", _summary(reply))
    return reply


def _notes_of_rows(table: TargetTable, last: TargetTable, week: SchoolWeek) -> list[Message]:
    """What to say where the rows change within the week, or where the week is not of the usual length."""
    notes = []
    now, later = ([(one.id, one.at_least, one.at_most) for one in some.targets] for some in (table, last))
    if now != later:
        notes.append(message("week-note.rules-change", day=table.on.isoformat()))
    days = len(week.school_days)
    if table.week_targets and days not in (0, 5):
        notes.append(message("week-note.other-length", days=days))
    return notes


def _from_memory(reply: Reply) -> list[str]:
    rows = [*reply["findings"], *reply["frequencies"], *reply["product_rules"], *reply["micronutrients"]]
    return list(dict.fromkeys(row["label"] for row in rows if row["source_status"] == "memory"))


def _summary(reply: Reply) -> Message:
    """The sentence a parent reads first."""
    judged = [*reply["findings"], *reply["frequencies"]]
    return summary_message(
        [row["name"] for row in reply["allergens"] if row["do_not_pack"]],
        [(row["status"], row["label"]) for row in judged],
        max((row["over_days"] for row in judged), default=reply["counted_days"]),
        reply["school_days"],
        nothing_known=reply["counted_days"] == 0 and not any(row["over_days"] for row in judged),
    )


def day_rows(week: SchoolWeek, with_credits: bool) -> list[Reply]:
    """Every day logged and every school day nobody logged, in order."""
    logged = {day.on: day for day in week.days}
    rows = []
    for on in sorted({*logged, *week.school_days}):
        day = logged.get(on)
        rows.append(_missing_row(on) if day is None else _day_row(day, with_credits))
    return rows


def _missing_row(on: date) -> Reply:
    return {
        "date": on.isoformat(),
        "weekday": weekday(on),
        "kind": "missing",
        "counted": False,
        **worded_as("why", day_note("missing", counted=False, eaten_less=False)),
        "menu": None,
        "items": [],
        "totals": None,
    }


def _day_row(day: DayOfWeek, with_credits: bool) -> Reply:
    counted = day.vector is not None
    return {
        "date": day.on.isoformat(),
        "weekday": weekday(day.on),
        "kind": day.kind,
        "counted": counted,
        **worded_as("why", day_note(day.kind, counted=counted, eaten_less=day.eaten_less)),
        "menu": None if day.menu is None else day.menu.name,
        "items": [
            {
                "food": item.food.id,
                "name": item.food.name,
                "quantity": item.quantity,
                "unit": item.unit,
                "grams": item.amount_mg / 1000,
                "eaten_grams": eaten / 1000,
            }
            for item, eaten in zip(day.items, day.eaten_mg, strict=True)
        ],
        "totals": None if day.vector is None else totals_rows(add_up([day.vector]), with_credits),
    }


def _finding_row(finding: WeekFinding, week: SchoolWeek) -> Reply:
    """A target judged over the week."""
    target, status, amount, _satisfaction, low, high, _counts = finding.judgement
    missing, rounded_off = widened_names(week, target.measures) if status == "unknown" else ([], [])
    return {
        "id": target.id,
        "kind": "target",
        "label": target.label,
        "status": status,
        "amount": round(amount, 3),
        "amount_low": round(low, 3),
        "amount_high": None if high is None else round(high, 3),
        "at_least": target.at_least,
        "at_most": target.at_most,
        "guide_at_most": finding.guide_at_most,
        "exclusive": target.above or target.below,
        "unit": target.unit,
        "basis": target.basis,
        "share_percent": None if finding.share_percent is None else round(finding.share_percent, 1),
        "over_days": finding.over,
        "school_days": len(week.school_days),
        "days": [
            {"date": on.isoformat(), "status": one.status, "amount": round(one.amount, 3)} for on, one in finding.days
        ],
        "source": target.source,
        "source_status": target.status,
        **worded(week_message(finding, len(week.school_days), week.absent(), missing, rounded_off)),
    }


def widened_names(week: SchoolWeek, measures: frozenset[int]) -> tuple[list[str], list[str]]:
    """Names of the items (and menus) without a figure for a measure, and of those with a rounded one."""
    missing: dict[str, None] = {}
    rounded_off: dict[str, None] = {}
    for day in week.days:
        if day.vector is None:
            continue  # a meal without figures is not among the days that count
        for food, eaten in zip(day.foods, day.eaten, strict=True):
            for measure, _low, _high in eaten.interval_entries:
                if measure in measures:
                    (rounded_off if measure in food.ranges else missing)[food.name] = None
    return list(missing), [name for name in rounded_off if name not in missing]


def micronutrient_rows(
    references: Sequence[DayReference], findings: Sequence[WeekFinding], week: SchoolWeek
) -> list[Reply]:
    """The mean lunch against a share of the day's reference."""
    rows = []
    for reference, finding in zip(references, findings, strict=True):
        row = _finding_row(finding, week)
        row["kind"] = "day_reference"
        row["reference"] = reference.kind
        row["day_amount"] = reference.day_amount
        row["at_least"] = round(row["at_least"], 3)
        unknown = row["status"] == "unknown"
        missing = widened_names(week, finding.judgement.target.measures)[0] if unknown else []
        row |= worded(
            reference_message(
                finding,
                reference.kind,
                reference.day_amount,
                len(week.school_days),
                week.absent(),
                missing,
                greater_of_two=reference.greater_of_two,
            )
        )
        rows.append(row)
    return rows


def frequency_rows(findings: Sequence[FrequencyFinding], week: SchoolWeek) -> list[Reply]:
    """Every rule of frequencies."""
    unsaid = week.unsaid()
    return [
        {
            "id": one.row.id,
            "kind": "frequency",
            "label": one.row.label,
            "status": one.status,
            "least": one.least,
            "most": one.most,
            "at_least": one.row.at_least,
            "at_most": one.row.at_most,
            "unit": one.row.unit,
            "period": one.row.period,
            "wanted": say(wanted_message(one.row)),
            "whole_day": one.row.whole_day,
            "over_days": one.over,
            "school_days": len(week.school_days),
            "off_days": [on.isoformat() for on in one.off_days],
            "unsure_days": [on.isoformat() for on in one.unsure_days],
            "seen": list(one.seen),
            "source": one.row.source,
            "source_status": one.row.status,
            **worded(
                frequency_message(
                    one, over_messages(len(week.school_days) - len(unsaid), len(week.school_days), unsaid)
                )
            ),
        }
        for one in findings
    ]


def means_rows(totals: Totals, days: int, with_credits: bool) -> Reply:
    """Total and mean of every measure over the days that count.

    ``days``: those the totals are over, above 0.
    """
    shown: Reply = {}
    for index, measure in enumerate(MEASURES if with_credits else MEASURES[:NUTRIENT_COUNT]):
        low, high = totals.lowest(index), totals.highest(index)
        shown[measure.id] = {
            "label": measure.label,
            "unit": measure.unit,
            "total": round(totals.nominal[index] / SCALE, 3),
            "mean": round(totals.nominal[index] / SCALE / days, 3),
            "mean_low": round(low / SCALE / days, 3),
            "mean_high": None if high is None else round(high / SCALE / days, 3),
            "complete": index not in totals.low,
        }
    return shown


def product_rows(products: Sequence[RuleOnDays]) -> list[Reply]:
    """Limits on single products and the kinds of milk."""
    rows = [
        {
            "id": one.id,
            "kind": "product_rule",
            "label": one.label,
            "status": one.status,
            "item": one.item,
            "dates": [on.isoformat() for on in days],
            "amount": None if one.amount is None else round(one.amount, 3),
            "at_most": one.at_most,
            "unit": one.unit,
            **worded(one.said),
            "source": one.source,
            "source_status": one.source_status,
        }
        for one, days in products
    ]
    return sorted(rows, key=lambda row: (row["id"], row["item"], row["sentence"]))


def allergen_rows(screened: Sequence[ScreenedOnDays]) -> list[Reply]:
    """Every food of the week against every avoidance, with its days."""
    return [{**screened_row(one.food, one.screened), "dates": [on.isoformat() for on in one.days]} for one in screened]


def handling_rows(handling: Sequence[HandledOnDays]) -> list[Reply]:
    """Choking forms and holding that are not in order, with their days."""
    return [{**handling_row(one.finding), "dates": [on.isoformat() for on in one.days]} for one in handling]


def variety_row(variety: Variety, week: SchoolWeek) -> Reply:
    """Kinds, repeats, and what is new."""
    return {
        "fruit": list(variety.kinds["fruit"]),
        "vegetables": list(variety.kinds["vegetable"]),
        "mains": list(variety.kinds["main"]),
        "repeats": [{"group": group, "kind": kind, "days": count} for group, kind, count in variety.repeats],
        "new_foods": None if variety.new is None else list(variety.new),
        "unsorted": list(variety.unsorted),
        **worded(
            variety_message(
                {group: len(kinds) for group, kinds in variety.kinds.items()},
                sum(day.counted is not None for day in week.days),
                len(week.school_days),
            )
        ),
    }


def trend_row(week: TrendWeek) -> Reply:
    """How one week went: days counted, findings met, means, and cost."""
    found, packed = week.statuses or (), week.packed
    priced = packed is not None and (packed.complete or packed.exact > 0)
    return {
        "week": week.week,
        "school_days": week.school_days,
        "counted_days": week.counted_days,
        "judged": week.statuses is not None,
        "met": found.count("met"),
        "not_met": found.count("short") + found.count("over"),
        "unknown": found.count("unknown"),
        "means": {
            name: {"mean": round(one.mean, 3), "mean_low": round(one.mean_low, 3), "complete": one.complete}
            for name, one in week.means.items()
        },
        "packed_a_day_minor": rounded(packed.exact / packed.days) if packed is not None and priced else None,
        "packed_complete": packed is not None and packed.complete,
    }
