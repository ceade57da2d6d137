"""A lunch far short of energy does not become one to pack by its sweets: alone, in a table and in an offer."""

from typing import Any

import pandas as pd

from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.offers.audit_offer import audit_offer
from service.jobs.offers.requests import OfferAuditRequest
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.tables.check_table import check_table

COLD = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}
LEAN: list[tuple[str, float, str]] = [
    ("turkey-breast-low-salt", 56, "g"),
    ("bread-whole-wheat", 28, "g"),
    ("carrots-raw", 100, "g"),
    ("apple", 100, "g"),
    ("milk-skim", 1, "cup"),
]
"""Every component of a US school lunch, and some 300 kcal of 550 (USDA SR28): far from a meal."""
SWEETS = ("gum-drops", 70, "g")


def items(*foods: tuple[str, float, str]) -> list[dict[str, Any]]:
    return [{"food": food, "quantity": quantity, "unit": unit} for food, quantity, unit in foods]


def check(*foods: tuple[str, float, str]) -> dict[str, Any]:
    request = {
        "standard": "us-school-lunch",
        "on": "2025-09-01",
        "child": {"age_years": 8},
        "lunch": {"items": items(*foods), "holding": COLD},
        "max_changes": 0,
    }
    return check_lunch(LunchCheckRequest.model_validate(request))


def test_sweets_do_not_make_a_lean_lunch_one_to_pack() -> None:
    lean, with_sweets = check(*LEAN), check(*LEAN, SWEETS)
    assert lean["verdict"] == with_sweets["verdict"] == "adjust"
    energy = next(one for one in with_sweets["findings"] if one["id"] == "energy")
    assert energy["status"] == "met" or not energy["counts"]  # the standard's own row is judged as it is printed
    (own,) = [one for one in with_sweets["findings"] if one["id"] == "energy-without-sweets"]
    assert (own["status"], own["at_least"], own["source_status"]) == ("short", 550.0, "proposed")
    assert own["amount"] < 385
    assert own["item"] == 5
    assert "gum drops" in own["sentence"]
    assert "energy-without-sweets" not in {one["id"] for one in lean["findings"]}


def test_a_full_lunch_with_a_biscuit_stays_one_to_pack() -> None:
    full = [*LEAN[:1], ("bread-whole-wheat", 64, "g"), *LEAN[2:], ("almonds", 28, "g")]
    assert check(*full)["verdict"] == check(*full, ("cookie-oatmeal", 1, "cookie"))["verdict"] == "pack"


def test_a_table_and_an_offer_say_the_same() -> None:
    rows = [{"lunch": "L", "food": food, "quantity": q, "unit": unit} for food, q, unit in (*LEAN, SWEETS)]
    of_lunch = {"standard": "us-school-lunch", "on": "2025-09-01", "age_years": 8}
    kept = {"insulated": True, "cold_sources": 2, "minutes_until_eaten": 240}
    (row,) = check_table(pd.DataFrame([{**row, **of_lunch, **kept} for row in rows])).lunches.to_dict("records")
    single = check(*LEAN, SWEETS)
    assert (row["verdict"], row["score"]) == (single["verdict"], single["score"])
    assert "energy-without-sweets:short" in row["to_change"].split(";")
    groups = [{"id": f"g{n}", "items": [one], "take": {"at_least": 1}} for n, one in enumerate(items(*LEAN))]
    sweet = {"id": "sweet", "items": items(SWEETS, ("almonds", 42, "g")), "take": {"at_least": 1, "at_most": 1}}
    audit = OfferAuditRequest.model_validate(
        {
            "on": "2025-09-01",
            "offer": {"groups": [*groups, sweet]},
            "children": [{"age_years": 8, "standard": "us-school-lunch"}],
            "holding": COLD,
            "max_changes": 0,
        }
    )
    (child,) = audit_offer(audit)["children"]
    assert check(*LEAN, ("almonds", 42, "g"))["verdict"] == "pack"
    assert (child["total"], child["right"], child["wrong"]) == (2, 1, 1)
