"""What standards there are, and what one of them asks on a day."""

from datetime import date
from typing import Any

from service.domain.errors import OutsideDates, at
from service.domain.lunch.compiling import compile_targets, first_and_last_day
from service.domain.lunch.findings import wanted
from service.domain.lunch.standards import Standard, Target
from service.domain.weeks.frequency import wanted_message
from service.reference.lunch.standards import standard, standard_ids
from service.reference.messages import say
from service.reference.weeks.frequencies import (
    FrequencyStandard,
    check_week_standard,
    frequency_paths,
    frequency_standard,
)


def list_standards() -> dict[str, Any]:
    """All standards with their age groups and the days their rows cover."""
    heads = {standard_id: _head(standard(standard_id)) for standard_id in standard_ids()}
    heads |= {standard_id: _frequency_head(frequency_standard(standard_id)) for standard_id in frequency_paths()}
    return {"items": [heads[standard_id] for standard_id in sorted(heads)], "next": None}


def _head(known: Standard) -> dict[str, Any]:
    return _head_row(known, "targets", *first_and_last_day(known))


def _frequency_head(known: FrequencyStandard) -> dict[str, Any]:
    return _head_row(known, "frequencies", known.first_day, known.last_day)


def _head_row(known: Standard | FrequencyStandard, kind: str, first: date, last: date | None) -> dict[str, Any]:
    return {
        "id": known.id,
        "kind": kind,
        "title": known.title,
        "jurisdiction": known.jurisdiction,
        "citation": known.citation,
        "about": known.about,
        "complete": known.complete,
        "missing": list(known.missing),
        "historical": known.historical,
        "yardstick": isinstance(known, Standard) and known.yardstick,
        "first_day": first.isoformat(),
        "last_day": None if last is None else last.isoformat(),
        "checked_until": None if known.checked_until is None else known.checked_until.isoformat(),
        "age_groups": [
            {
                "id": group.id,
                "title": group.title,
                "from_age_months": group.from_age_months,
                "below_age_months": group.below_age_months,
                "source": group.source,
                "source_status": group.status,
            }
            for group in known.age_groups
        ],
    }


def show_standard(standard_id: str, on: date) -> dict[str, Any]:
    """One standard with the rules in force on a day, by age group.

    Raises ``UnknownName`` for the id, ``OutsideDates`` for a day before the first or after the last row.
    """
    check_week_standard(standard_id)
    if standard_id in frequency_paths():
        frequencies = frequency_standard(standard_id)
        with at("on"):
            return _show_frequencies(frequencies, on)
    known = standard(standard_id)
    with at("on"):
        return _show_targets(known, on)


def _show_targets(known: Standard, on: date) -> dict[str, Any]:
    groups = []
    first, _last = first_and_last_day(known)
    for group in known.age_groups:
        try:
            table = compile_targets(known, group, on)
        except OutsideDates:
            if on < first or not any(row.in_force(on) for row in known.rows):
                raise
            continue  # the standard is in force, but has no rows yet for this age group
        groups.append(
            {
                "id": group.id,
                "targets": [_target(target) for target in table.targets],
                "week_targets": [_target(target) for target in table.week_targets],
                "product_rules": [
                    {
                        "id": rule.id,
                        "label": rule.label,
                        "applies_to": sorted(rule.applies_to),
                        "measure": rule.measure,
                        "at_most": float(rule.at_most),
                        "per_grams": float(rule.per_grams),
                        "source": rule.source,
                        "source_status": rule.status,
                    }
                    for rule in table.product_rules
                ],
                "milk_rules": [
                    {
                        "id": rule.id,
                        "label": rule.label,
                        "allowed": sorted(rule.allowed),
                        "source": rule.source,
                        "source_status": rule.status,
                    }
                    for rule in table.milk_rules
                ],
                "frequencies": [],
            }
        )
    return {**_head(known), "on": on.isoformat(), "in_force": groups}


def _show_frequencies(known: FrequencyStandard, on: date) -> dict[str, Any]:
    groups = [
        {
            "id": group.id,
            "targets": [],
            "week_targets": [],
            "product_rules": [],
            "milk_rules": [],
            "frequencies": [
                {
                    "id": row.id,
                    "label": row.label,
                    "counts": row.counts or None,
                    "unit": row.unit,
                    "period": row.period,
                    "at_least": row.at_least,
                    "at_most": row.at_most,
                    "whole_day": row.whole_day,
                    "wanted": say(wanted_message(row)),
                    "note": row.kitchen_only,
                    "source": row.source,
                    "source_status": row.status,
                }
                for row in known.in_force(group, on)
            ],
        }
        for group in known.age_groups
    ]
    return {**_frequency_head(known), "on": on.isoformat(), "in_force": groups}


def _target(target: Target) -> dict[str, Any]:
    return {
        "id": target.id,
        "label": target.label,
        "at_least": target.at_least,
        "at_most": target.at_most,
        "exclusive": target.above or target.below,
        "unit": target.unit,
        "basis": target.basis,
        "wanted": say(wanted(target)),
        "weight": target.weight,
        "distance_percent": target.distance_percent,
        "source": target.source,
        "source_status": target.status,
        "note": target.note,
    }
