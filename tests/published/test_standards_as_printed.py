"""Every standard against its table as printed: at a bound it is kept, a thousandth beyond it is not.

The tables stand in standards/<id>.toml, written down from the publisher a second time and apart from
the file that is shipped. A standard without such a table fails here, and so does a target that no
table prints.
"""

import math
from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from typing import Any

import pytest

from service.reference.lunch.standards import standard_ids
from tests.builders import judged, measured, table
from tests.published.case_files import case_file

ENERGY_KCAL = 1000
"""Shares of energy are tried on a lunch of so much energy."""

Printed = tuple[str, date, str, dict[str, Any], int, bool]


def printed_rows() -> Iterator[Any]:
    for standard_id in standard_ids():
        for block in case_file(f"standards/{standard_id}.toml")["table"]:
            on = date.fromisoformat(block["on"])
            for week, rows in ((False, block["rows"]), (True, block.get("week", []))):
                for row in rows:
                    for place, group in enumerate(block["groups"]):
                        name = f"{standard_id} {group} {row['target']} {block['on']}"
                        yield pytest.param((standard_id, on, group, row, place, week), id=name)


def bound_of(row: dict[str, Any], kind: str, place: int) -> Fraction:
    """The printed bound in thousandths of the measure."""
    bound = Fraction(str(row[kind][place]))
    if "percent_of_energy" in row:
        bound = bound / 100 * ENERGY_KCAL / row["percent_of_energy"]
    if "per_unit" in row:
        bound /= Fraction(str(row["per_unit"]))
    return bound * 1000


def statuses(printed: Printed, thousandths: int) -> dict[str, str]:
    standard_id, on, group, row, _place, week = printed
    figures: dict[str, Fraction] = {row["measure"]: Fraction(thousandths, 1000)}
    if "percent_of_energy" in row:
        figures["energy_kcal"] = Fraction(ENERGY_KCAL)
    figures.update({measure: Fraction(amount) for measure, amount in row.get("with", {}).items()})
    findings = judged(table(standard_id, group, on), [measured(figures)], week=week)
    return {target: one.status for target, one in findings.items()}


@pytest.mark.parametrize("printed", list(printed_rows()))
def test_a_printed_bound(printed: Printed) -> None:
    _standard, _on, _group, row, place, _week = printed
    both = "percent_of_energy" in row and "at_least" in row and "at_most" in row
    if "at_least" in row:
        bound = math.ceil(bound_of(row, "at_least", place))
        target = row["target"] + ("-least" if both else "")
        assert statuses(printed, bound)[target] == "met"
        assert statuses(printed, bound - 1)[target] == "short"
    if "at_most" in row:
        bound = math.floor(bound_of(row, "at_most", place))
        target = row["target"] + ("-most" if both else "")
        assert statuses(printed, bound)[target] == "met"
        assert statuses(printed, bound + 1)[target] == "over"
    if "below" in row:
        bound = math.ceil(bound_of(row, "below", place))
        assert statuses(printed, bound)[row["target"]] == "over"
        assert statuses(printed, bound - 1)[row["target"]] == "met"


@pytest.mark.parametrize("standard_id", standard_ids())
def test_every_target_of_a_standard_is_printed(standard_id: str) -> None:
    """Names both ways: nothing shipped that no table prints, nothing printed that is not shipped."""
    for block in case_file(f"standards/{standard_id}.toml")["table"]:
        if block.get("partly"):
            continue
        printed = {row["target"] for row in block["rows"]}
        printed_week = {row["target"] for row in block.get("week", [])}
        for group in block["groups"]:
            compiled = table(standard_id, group, date.fromisoformat(block["on"]))
            assert {t.id.removesuffix("-least").removesuffix("-most") for t in compiled.targets} == printed
            assert {t.id for t in compiled.week_targets} == printed_week


def test_scottish_figures_follow_from_the_shares_of_energy_behind_them() -> None:
    """Fat 35 %, saturated fat 11 %, carbohydrate 50 %, free sugars 7.5 %, protein 15 % of 518 and 745 kcal.

    Computed; factors 9, 3.75 and 4 kcal/g. Source of the basis: technical working group, page 6.
    """
    shares = {
        "fat_g": (35, 9),
        "saturated_fat_g": (11, 9),
        "carbohydrate_g": (50, Fraction("3.75")),
        "free_sugars_g": (Fraction("7.5"), Fraction("3.75")),
        "protein_g": (15, 4),
    }
    rows = case_file("standards/gb-sct-school-lunch.toml")["table"][0]["rows"]
    printed = {row["measure"]: row.get("at_least") or row["at_most"] for row in rows}
    for measure, (percent, kcal_per_g) in shares.items():
        for place, energy in enumerate((518, 745)):
            computed = Fraction(energy) * percent / 100 / kcal_per_g
            assert abs(computed - Fraction(str(printed[measure][place]))) <= Fraction("0.06"), (measure, energy)
