"""Published menus as offers with one item a group: the audit gives the printed figures.

Sources: the five-day elementary menu of the USDA before-and-after handout (portions printed, credits computed
by 7 CFR 210.10, see five_day_menu.toml) and the three sodium menus for grades 6 to 8 of a heart-health
infographic (item and total milligrams printed).
"""

import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest

HERE = Path(__file__).parent

SODIUM_MENUS = {
    "before": (
        {
            "burger with cheese": 470,
            "pickle": 280,
            "potato nuggets": 310,
            "ketchup": 300,
            "cookie": 40,
            "grapes": 0,
            "milk": 110,
        },
        1510,
    ),
    "2014 menu": (
        {
            "burger": 260,
            "pickle": 280,
            "baked beans": 140,
            "carrots": 40,
            "ranch": 270,
            "cookie": 40,
            "grapes": 0,
            "milk": 110,
        },
        1140,
    ),
    "Target-2 menu": (
        {"burger": 260, "baked beans": 140, "carrots": 40, "ranch": 270, "cookie": 40, "grapes": 0, "milk": 110},
        860,
    ),
}
"""Printed milligrams of each item and printed totals."""


def one_way(items: dict[str, dict[str, Any]], on: str, age_group: str) -> dict[str, Any]:
    """An audit of an offer that allows just one lunch."""
    groups = [{"id": name, "items": [{"food": food, "key": name}]} for name, food in items.items()]
    asked = {
        "on": on,
        "offer": {"groups": groups},
        "children": [{"standard": "us-school-lunch", "age_group": age_group, "age_years": 10}],
        "measures": ["sodium_mg"],
        "examples": 1,
        "max_changes": 0,
    }
    child: dict[str, Any] = audit_offer(OfferAuditRequest.model_validate(asked))["children"][0]
    return child


def plain(name: str, **figures: float) -> dict[str, Any]:
    return {
        "name": name,
        "serving": {"name": "portion", "grams": 100},
        "facts": figures,
        "facts_rounded": False,
        "credits": [],
        "perishable": False,
        "choking_rule": "none",
    }


@pytest.mark.parametrize("menu", list(SODIUM_MENUS))
@pytest.mark.parametrize(("on", "limit"), [("2026-12-01", 1225), ("2027-09-01", 1035)])
def test_a_sodium_menu_as_an_offer_of_one_lunch(menu: str, on: str, limit: int) -> None:
    items, total = SODIUM_MENUS[menu]
    child = one_way({name: plain(name, sodium_mg=mg) for name, mg in items.items()}, on, "grades-6-8")
    assert child["total"] == 1
    spread = child["measures"]["sodium_mg"]
    assert spread["smallest"] == spread["median"] == spread["largest"] == total
    sodium = next(one for one in child["targets"] if one["id"] == "sodium")
    assert sodium["at_most"] == limit
    assert (sodium["kept"], sodium["broken"]) == ((1, 0) if total <= limit else (0, 1))
    chance = 1.0 if total <= limit else 0.0
    assert sodium["week_mean_chance"] == {"least": chance, "most": chance}


MENU = tomllib.loads((HERE / "five_day_menu.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("day", MENU["case"], ids=lambda day: str(day["id"]))
def test_a_day_of_the_five_day_menu_as_an_offer_of_one_lunch(day: dict[str, Any]) -> None:
    """The day's vegetables by the printed portions: the cups, and the daily minimum of both age groups."""
    cups = Fraction(str(day["expect"]["day"]))
    groups = [
        {
            "id": f"vegetable {place}",
            "items": [
                {
                    "food": one["food"],
                    "quantity": float(Fraction(str(one["quantity"]))),
                    "unit": one["unit"],
                    **({"credit_as": one["option"]} if "option" in one else {}),
                }
            ],
        }
        for place, one in enumerate(day["vegetables"])
    ]
    for age_group, wanted in (("grades-k-5", Fraction(3, 4)), ("grades-9-12", Fraction(1))):
        asked = {
            "on": "2026-12-01",
            "offer": {"groups": groups},
            "children": [{"standard": "us-school-lunch", "age_group": age_group, "age_years": 10}],
            "measures": ["vegetable_cup"],
            "examples": 0,
            "max_changes": 0,
        }
        child = audit_offer(OfferAuditRequest.model_validate(asked))["children"][0]
        assert child["measures"]["vegetable_cup"]["largest"] == float(cups)
        vegetables = next(one for one in child["targets"] if one["id"] == "vegetable")
        assert vegetables["at_least"] == float(wanted)
        assert vegetables["kept"] == int(cups >= wanted)
