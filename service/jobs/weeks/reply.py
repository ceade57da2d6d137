"""The parts of a week's summary as plain dictionaries (published shape: service/api/weeks/replies.py)."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.foods.amounts import add_up
from service.domain.lunch.special_rules import milk_findings, product_findings
from service.domain.lunch.standards import TargetTable
from service.domain.measures import MEASURES, NUTRIENT_COUNT, SCALE
from service.domain.weeks.frequency import FrequencyFinding, frequency_sentence, wanted_words
from service.domain.weeks.variety import variety_of
from service.domain.weeks.week import WeekFinding
from service.domain.weeks.words import day_words, over_words, reference_sentence, week_sentence, weekday
from service.jobs.lunch.check_lunch import handling_of
from service.jobs.lunch.reply import handling_row, screened_row, totals_rows
from service.jobs.requests import Region
from service.jobs.weeks.days import DayOfWeek, SchoolWeek
from service.reference.allergens.vocabulary import vocabulary
from service.reference.weeks.lengths import DayReference

Reply = dict[str, Any]


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
        "why": "Nobody logged this school day; it is not filled.",
        "menu": None,
        "items": [],
        "totals": None,
    }


def _day_row(day: DayOfWeek, with_credits: bool) -> Reply:
    why = ""
    if day.kind == "none":
        why = "No school lunch on this day; it does not count."
    elif day.vector is None:
        why = "Bought, and the menu's figures are not given: shown apart and not counted."
    elif day.eaten_less:
        why = "Counted as eaten: what came back is taken off."
    return {
        "date": day.on.isoformat(),
        "weekday": weekday(day.on),
        "kind": day.kind,
        "counted": day.vector is not None,
        "why": why,
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


def finding_rows(findings: Sequence[WeekFinding], week: SchoolWeek) -> list[Reply]:
    """Every target judged over the week."""
    absent = week.absent()
    return [_finding_row(one, week, absent) for one in findings]


def _finding_row(finding: WeekFinding, week: SchoolWeek, absent: Sequence[date]) -> Reply:
    target, status, amount, _satisfaction, low, high, _counts = finding.judgement
    missing, rounded = widened_names(week, target.measures) if status == "unknown" else ([], [])
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
        "sentence": week_sentence(finding, len(week.school_days), absent, missing, rounded),
    }


def widened_names(week: SchoolWeek, measures: frozenset[int]) -> tuple[list[str], list[str]]:
    """Names of the items (and menus) without a figure for a measure, and of those with a rounded one."""
    missing: dict[str, None] = {}
    rounded: dict[str, None] = {}
    for day in week.days:
        foods = [item.food for item in day.items] + [food for food in (day.menu,) if food is not None]
        for food, eaten in zip(foods, day.eaten, strict=True):
            for measure, _low, _high in eaten.widened:
                if measure in measures:
                    (rounded if measure in food.ranges else missing)[food.name] = None
    return list(missing), [name for name in rounded if name not in missing]


def micronutrient_rows(
    references: Sequence[DayReference], findings: Sequence[WeekFinding], week: SchoolWeek
) -> list[Reply]:
    """The mean lunch against a share of the day's reference."""
    rows = []
    for reference, finding in zip(references, findings, strict=True):
        absent = week.absent()
        row = _finding_row(finding, week, absent)
        row["kind"] = "day_reference"
        row["reference"] = reference.kind
        row["day_amount"] = reference.day_amount
        row["at_least"] = round(row["at_least"], 3)
        unknown = row["status"] == "unknown"
        missing = widened_names(week, finding.judgement.target.measures)[0] if unknown else []
        row["sentence"] = reference_sentence(
            finding, reference.kind, reference.day_amount, len(week.school_days), absent, missing
        )
        if reference.greater_of_two:
            row["sentence"] += " The greater of the figures for girls and boys: nobody said which."
        rows.append(row)
    return rows


def frequency_rows(findings: Sequence[FrequencyFinding], week: SchoolWeek) -> list[Reply]:
    """Every rule of frequencies."""
    said = [day.on for day in week.days if day.counted is not None]
    unsaid = [on for on in week.school_days if on not in said]
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
            "wanted": wanted_words(one.row),
            "whole_day": one.row.whole_day,
            "over_days": one.over,
            "school_days": len(week.school_days),
            "off_days": [on.isoformat() for on in one.off_days],
            "unsure_days": [on.isoformat() for on in one.unsure_days],
            "seen": list(one.seen),
            "source": one.row.source,
            "source_status": one.row.status,
            "sentence": frequency_sentence(
                one, over_words(len(week.school_days) - len(unsaid), len(week.school_days), unsaid)
            ),
        }
        for one in findings
    ]


def means_rows(week: SchoolWeek, with_credits: bool) -> Reply:
    """Total and mean of every measure over the days that count; empty where there is no such day."""
    days = week.counted()
    if not days:
        return {}
    totals = add_up([day.vector for day in days])
    shown: Reply = {}
    for index, measure in enumerate(MEASURES if with_credits else MEASURES[:NUTRIENT_COUNT]):
        low, high = totals.lowest(index), totals.highest(index)
        shown[measure.id] = {
            "label": measure.label,
            "unit": measure.unit,
            "total": totals.nominal[index] / SCALE,
            "mean": round(totals.nominal[index] / SCALE / len(days), 3),
            "mean_low": round(low / SCALE / len(days), 3),
            "mean_high": None if high is None else round(high / SCALE / len(days), 3),
            "complete": index not in totals.low,
        }
    return shown


def product_rows(table: TargetTable, week: SchoolWeek) -> list[Reply]:
    """Limits on single products and the kinds of milk: each finding once, with its days."""
    found: dict[tuple[str, str, str], Reply] = {}
    for day in week.days:
        foods = [item.food for item in day.items]
        for one in product_findings(table.product_rules, foods) + milk_findings(table.milk_rules, foods):
            row = found.setdefault(
                (one.id, one.item, one.sentence),
                {
                    "id": one.id,
                    "kind": "product_rule",
                    "label": one.label,
                    "status": one.status,
                    "item": one.item,
                    "dates": [],
                    "amount": None if one.amount is None else round(one.amount, 3),
                    "at_most": one.at_most,
                    "unit": one.unit,
                    "sentence": one.sentence,
                    "source": one.source,
                    "source_status": one.source_status,
                },
            )
            if day.on.isoformat() not in row["dates"]:
                row["dates"].append(day.on.isoformat())
    return [found[key] for key in sorted(found)]


def allergen_rows(week: SchoolWeek, avoidances: Sequence[Avoidance]) -> list[Reply]:
    """Every food of the week against every avoidance, with its days; the gravest first."""
    words = vocabulary()
    found: dict[tuple[Any, ...], Reply] = {}
    for day in week.days:
        foods = [item.food for item in day.items] + [food for food in (day.menu,) if food is not None]
        for food in foods:
            for avoidance in avoidances:
                row = screened_row(food, screen_food(words, food, avoidance))
                kept = found.setdefault(tuple(row.values()), {**row, "dates": []})
                if day.on.isoformat() not in kept["dates"]:
                    kept["dates"].append(day.on.isoformat())
    rank = {"avoid": 0, "may_contain": 1, "check_label": 2, "not_declared": 3}
    return sorted(
        found.values(), key=lambda row: (not row["do_not_pack"], rank[row["outcome"]], row["name"], row["allergen"])
    )


def handling_rows(week: SchoolWeek, age_months: int, regions: list[Region]) -> list[Reply]:
    """Choking forms and holding of the packed days that are not in order, each once with its days."""
    found: dict[str, Reply] = {}
    for day in week.days:
        if day.kind != "packed":
            continue
        for one in handling_of(list(day.items), day.asked.holding, age_months, regions):
            if one.status != "in_order":
                row = found.setdefault(one.sentence, {**handling_row(one), "dates": []})
                row["dates"].append(day.on.isoformat())
    return list(found.values())


def variety_row(week: SchoolWeek, earlier: Sequence[SchoolWeek]) -> Reply:
    """Kinds, repeats, and what is new."""
    days = [(day.on, day.counted) for day in week.days if day.counted is not None]
    before = [day.counted for one in earlier for day in one.days if day.counted is not None]
    variety = variety_of(days, before)
    return {
        "fruit": list(variety.kinds["fruit"]),
        "vegetables": list(variety.kinds["vegetable"]),
        "mains": list(variety.kinds["main"]),
        "repeats": [{"group": group, "kind": kind, "days": count} for group, kind, count in variety.repeats],
        "new_foods": None if variety.new is None else list(variety.new),
        "unsorted": list(variety.unsorted),
        "sentence": _variety_sentence(variety.kinds, len(days), len(week.school_days)),
    }


def _variety_sentence(kinds: dict[str, tuple[str, ...]], over: int, school_days: int) -> str:
    counts = ", ".join(
        f"{len(kinds[group])} {'kind' if len(kinds[group]) == 1 else 'kinds'} of {words}"
        for group, words in (("fruit", "fruit"), ("vegetable", "vegetables"), ("main", "mains"))
    )
    return f"{counts}, over {over} of {school_days} school days."


def week_notes(week: SchoolWeek) -> list[str]:
    """What to say of the days: which are missing, which are shown apart."""
    told = []
    missing = week.missing()
    if missing:
        told.append("Nobody logged " + ", ".join(day_words(on) for on in missing) + "; nothing was filled in.")
    apart = [day.on for day in week.days if day.kind == "bought" and day.vector is None]
    if apart:
        told.append(
            "Bought without figures, shown apart and not counted: " + ", ".join(day_words(on) for on in apart) + "."
        )
    return told
