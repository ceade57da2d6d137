"""What standards there are, and what one of them asks on a day."""

from datetime import date
from typing import Any

from service.domain.errors import OutsideDates
from service.domain.findings import wanted
from service.domain.standards import Standard, Target, compile_targets, first_and_last_day
from service.reference.standards import standard, standard_ids


def list_standards() -> dict[str, Any]:
    """All standards with their age groups and the days their rows cover."""
    return {"items": [_head(standard(standard_id)) for standard_id in standard_ids()], "next": None}


def _head(known: Standard) -> dict[str, Any]:
    first, last = first_and_last_day(known)
    return {
        "id": known.id,
        "title": known.title,
        "jurisdiction": known.jurisdiction,
        "citation": known.citation,
        "about": known.about,
        "complete": known.complete,
        "missing": list(known.missing),
        "historical": known.historical,
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
    known = standard(standard_id)
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
            }
        )
    return {**_head(known), "on": on.isoformat(), "in_force": groups}


def _target(target: Target) -> dict[str, Any]:
    return {
        "id": target.id,
        "label": target.label,
        "at_least": target.at_least,
        "at_most": target.at_most,
        "exclusive": target.above or target.below,
        "unit": target.unit,
        "basis": target.basis,
        "wanted": wanted(target),
        "weight": target.weight,
        "distance_percent": target.distance_percent,
        "source": target.source,
        "source_status": target.status,
        "note": target.note,
    }
