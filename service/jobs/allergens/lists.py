"""The allergen vocabulary, one jurisdiction's list on a day, and the choking rules."""

from datetime import date
from typing import Any

from service.domain.allergens.vocabulary import jurisdiction_code, legal_list
from service.domain.errors import BadInput
from service.domain.messages import message
from service.reference.allergens.codes import allergen_codes
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.handling import handling_rules


def list_allergens(jurisdiction: str | None, on: date | None) -> dict[str, Any]:
    """All allergens; with a jurisdiction, how its law lists each on that day.

    Raises ``UnknownName`` for a jurisdiction, ``OutsideDates`` for a day before its first list.
    """
    words, codes = vocabulary(), allergen_codes().written
    listed: dict[str, Any] = {}
    if jurisdiction is not None:
        if on is None:
            raise BadInput(
                pointer="/on",
                value="nothing",
                problem=message("fault.day-missing"),
            )
        listed = {entry.allergen: entry for entry in legal_list(words, jurisdiction, on)}
    items = []
    for allergen in words.allergens.values():
        entry = listed.get(allergen.id)
        items.append(
            {
                "id": allergen.id,
                "name": allergen.name,
                "gs1_code": allergen.gs1_code,
                "codes": [
                    {
                        "system": code.system,
                        "code": code.code,
                        "display": code.display,
                        "source": code.source,
                        "source_status": code.status,
                    }
                    for code in codes[allergen.id]
                ],
                "members": list(allergen.members),
                "listed": None if entry is None else entry.status,
                "species": [] if entry is None else list(entry.species),
                "pending": None if entry is None else entry.pending,
                "law": None if entry is None else entry.law,
                "source": None if entry is None else entry.source,
                "source_status": None if entry is None else entry.source_status,
            }
        )
    return {
        "jurisdiction": None if jurisdiction is None else jurisdiction_code(jurisdiction),
        "on": None if on is None else on.isoformat(),
        "jurisdictions": list(words.jurisdictions),
        "items": items,
        "next": None,
    }


def list_choking_rules() -> dict[str, Any]:
    """All choking rules, as front ends need them for label foods and forms."""
    return {
        "items": [
            {
                "id": rule.id,
                "foods": rule.foods,
                "risky_forms": sorted(rule.risky_forms),
                "allowed_forms": sorted(rule.allowed_forms),
                "prepare": rule.prepare,
                "limits": [
                    {
                        "region": limit.region,
                        "below_age_months": limit.below_age_months,
                        "never": limit.never,
                        "allowed_forms": None if limit.allowed_forms is None else sorted(limit.allowed_forms),
                        "source": limit.source,
                        "source_status": limit.status,
                    }
                    for limit in rule.limits
                ],
            }
            for rule in handling_rules().choking.values()
        ],
        "next": None,
    }
