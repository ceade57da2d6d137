"""A table of lunches: what rejects a lunch, that all others are kept, and what may stand in a frame."""

from collections import Counter
from datetime import date
from typing import Any

import pandas as pd
import pytest

from service.domain.errors import LunchError
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.tables.check_table import check_table
from service.jobs.tables.columns import COLUMNS
from service.jobs.tables.faults import REJECT_COLUMNS
from service.jobs.tables.findings import FINDING_COLUMNS
from service.jobs.tables.results import LUNCH_COLUMNS
from tests.published.case_files import cases, ids
from tests.refused import refused

Row = dict[str, Any]
ROW: Row = {
    "lunch": "L1",
    "standard": "us-school-lunch",
    "on": "2026-12-01",
    "age_months": 98,
    "food": "apple",
    "quantity": 1,
    "unit": "apple",
}
MENUS = cases("five_day_menu.toml")


def row(lunch: str = "L1", **changed: Any) -> Row:
    """One row that is in order but for what is changed."""
    return {**ROW, "lunch": lunch, **changed}


def faults(rows: list[Row]) -> list[tuple[Any, ...]]:
    """Line, lunch, column and reason of each fault."""
    rejects = check_table(pd.DataFrame(rows)).rejects
    return list(rejects[["line", "lunch", "field", "reason"]].itertuples(index=False, name=None))


def kept(rows: list[Row]) -> list[str]:
    """The lunches that were checked."""
    found: list[str] = check_table(pd.DataFrame(rows)).lunches["lunch"].to_list()
    return found


WRONG: dict[str, tuple[Row, str, str]] = {
    "standard": ({"standard": "us-lunch"}, "us-lunch", "is not a known standard"),
    "no standard": ({"standard": None}, "nothing", "is missing"),
    "day": ({"on": "1.12.2026"}, "1.12.2026", "is not a date"),
    "day before the rules": ({"on": "1999-01-01"}, "1999-01-01", "is a day for which us-school-lunch has no rows"),
    "age in words": ({"age_months": "eight"}, "eight", "is not a number"),
    "age outside": ({"age_months": 7}, "7 months", "is an age that no age group of us-school-lunch covers"),
    "half a month": ({"age_months": 98.5}, "98.5", "is not a whole number"),
    "age group": ({"age_group": "juniors"}, "juniors", "is not a known age group of us-school-lunch"),
    "food": ({"food": "appel"}, "appel", "is not a known food"),
    "no food": ({"food": None}, "nothing", "is missing"),
    "unit": ({"unit": "barrel"}, "barrel", "is not a known unit of apple"),
    "quantity of nothing": ({"quantity": 0}, "0.0", "is not more than 0"),
    "quantity in words": ({"quantity": "two"}, "two", "is not a number"),
    "quantity without end": ({"quantity": float("inf")}, "Infinity", "is not a finite number"),
    "quantity too heavy": ({"quantity": 9000}, "9000 apple", "weighs 1,638 kg, more than one item of a lunch can"),
    "quantity too light": ({"quantity": 0.0001}, "0.0", "is not an amount above zero"),
    "form": ({"form": "juggled"}, "juggled", "is not one of the known values"),
    "credit_as": ({"credit_as": "grain"}, "grain", "is not a known way apple can credit"),
    "held": ({"held": "frozen"}, "frozen", "is not one of the known values"),
    "avoids": ({"avoids": "penut"}, "penut", "is not a known allergen"),
    "avoids threshold": ({"avoids": "peanut:seldom"}, "seldom", "is not one of the known values"),
    "bans": ({"bans": "peanut;dust"}, "dust", "is not a known allergen"),
    "yardsticks": ({"yardsticks": "who-free-sugars-2015;dust"}, "dust", "is not a known yardstick"),
    "ban_threshold": ({"ban_threshold": "never"}, "never", "is not one of the known values"),
    "insulated": ({"insulated": "rather"}, "rather", "is neither true nor false"),
    "cold_sources": ({"cold_sources": 1.5}, "1.5", "is not a whole number"),
    "ambient_c": ({"ambient_c": 99}, "99.0", "is more than 60"),
}


@pytest.mark.parametrize(("changed", "value", "reason"), WRONG.values(), ids=WRONG)
def test_a_fault_names_line_lunch_column_value_reason_and_remedy(changed: Row, value: str, reason: str) -> None:
    """The lunch with the fault is rejected, the two next to it are kept."""
    rows = [row("before"), row("wrong"), row("wrong", **changed), row("after")]
    if next(iter(changed)) not in ("food", "quantity", "unit", "form", "credit_as", "held"):
        rows[1] = row("wrong", **changed)
    checked = check_table(pd.DataFrame(rows))
    assert checked.lunches["lunch"].to_list() == ["before", "after"]
    first = checked.rejects.iloc[0]
    assert (first["lunch"], first["value"], first["reason"]) == ("wrong", value, reason)
    assert first["line"] in (2, 3)
    assert first["field"] == next(iter(changed))
    assert first["remedy"]


def test_all_faults_of_a_lunch_are_told() -> None:
    """One in each row."""
    told = faults([row(food="appel"), row(unit="barrel"), row(quantity=-1)])
    assert [(line, field) for line, _lunch, field, _reason in told] == [(1, "food"), (2, "unit"), (3, "quantity")]


@pytest.mark.parametrize(
    ("name", "value"), [("age_months", 99), ("avoids", "milk"), ("on", "2026-12-02"), ("insulated", True)]
)
def test_the_rows_of_a_lunch_must_agree(name: str, value: Any) -> None:
    """An allergen that stands in one row only must not be passed over."""
    rows = [row(), row(**{name: value}), row("L2")]
    assert faults(rows) == [(2, "L1", name, "differs from the row of the same lunch before it")]
    assert kept(rows) == ["L2"]


def test_rows_of_a_lunch_that_stand_apart_reject_it_in_every_place() -> None:
    """Each part alone would be judged without the other's items."""
    rows = [row("A"), row("B"), row("A", food="milk-skim", unit="cup"), row("C")]
    reason = "stands in more than one place of the table"
    assert faults(rows) == [(1, "A", "lunch", reason), (3, "A", "lunch", reason)]
    assert kept(rows) == ["B", "C"]


def test_a_row_without_its_lunch_rejects_both_neighbours() -> None:
    """It may belong to either, and be the one that holds the allergen."""
    rows = [row("A"), row("B"), row(""), row("C"), row("D")]
    told = check_table(pd.DataFrame(rows)).rejects
    assert told["line"].to_list() == [2, 3, 4]
    assert told["lunch"].fillna("?").to_list() == ["B", "?", "C"]
    assert kept(rows) == ["A", "D"]


def test_forty_items_are_a_lunch_and_forty_one_are_not() -> None:
    """The limit of the single check."""
    assert kept([row("A")] * 40) == ["A"]
    rows = [row("A")] * 41 + [row("B")]
    assert faults(rows) == [(1, "A", "lunch", "has 41 items")]
    assert kept(rows) == ["B"]


@pytest.mark.parametrize("name", ["x" * 121, "tab\tin it"])
def test_an_id_that_is_no_name_rejects_its_lunch(name: str) -> None:
    """As for every other name."""
    assert kept([row("A"), row(name), row("B")]) == ["A", "B"]


def test_a_column_that_is_not_known_is_refused_with_a_near_one() -> None:
    """Passed over, a misspelt column of allergens would clear every lunch."""
    with refused(LunchError, match="Did you mean avoids"):
        check_table(pd.DataFrame([row(avoid="peanut")]))


@pytest.mark.parametrize("name", ["lunch", "standard", "on", "food"])
def test_a_table_without_a_needed_column_is_refused(name: str) -> None:
    """There is nothing to check by."""
    with refused(LunchError, match="is a column that is missing"):
        check_table(pd.DataFrame([row()]).drop(columns=name))


def test_a_column_twice_is_refused() -> None:
    """Which of the two would count?"""
    frame = pd.DataFrame([row()])
    with refused(LunchError, match="appears twice"):
        check_table(pd.concat([frame, frame[["food"]]], axis=1))


def test_a_table_without_rows_has_answers_without_rows() -> None:
    """With all their columns."""
    checked = check_table(pd.DataFrame({name: [] for name in COLUMNS}))
    assert [len(frame) for frame in checked] == [0, 0, 0, 0]
    assert tuple(checked.lunches) == LUNCH_COLUMNS
    assert tuple(checked.findings) == FINDING_COLUMNS
    assert tuple(checked.rejects) == REJECT_COLUMNS


def test_types_of_columns_do_not_depend_on_what_is_in_them() -> None:
    """So that chunks fit together."""
    with_all = check_table(pd.DataFrame([row("A", avoids="milk", food="sr28-01001", unit="g", quantity=10), row("")]))
    with_none = check_table(pd.DataFrame([row("A")]), with_findings=False)
    for one, other in zip(with_all, with_none, strict=True):
        assert one.dtypes.to_dict() == other.dtypes.to_dict()


def test_cells_may_have_other_types_than_text() -> None:
    """Days as days, numbers as text, codes, whole numbers as ids; the answers are the same."""
    rows = [row("7", avoids="milk", insulated=True), row("8"), row("8", food="milk-skim", unit="cup")]
    plain = pd.DataFrame(rows)
    frames = {
        "days": plain.assign(on=[date(2026, 12, 1)] * 3),
        "timestamps": plain.assign(on=pd.to_datetime(plain["on"])),
        "ids": plain.assign(lunch=[7, 8, 8]),
        "text": plain.assign(quantity=["1", "1.0", "1e0"], age_months=["98", "98", "98"]),
        "codes": plain.astype(dict.fromkeys(("lunch", "food", "unit", "on", "standard", "avoids"), "category")),
        "objects": plain.astype(object),
        "words": plain.assign(insulated=["TRUE", None, None]),
        "spaces": plain.assign(lunch=["7 ", "8", " 8"], food=[" apple", "apple", "milk-skim "]),
        "usual portion": plain.assign(unit=[None, "", "cup"], quantity=[None, 1, 1]),
    }
    expected = check_table(plain)
    for name, frame in frames.items():
        for one, other in zip(check_table(frame), expected, strict=True):
            pd.testing.assert_frame_equal(one, other, obj=name)


def test_the_frame_is_not_changed() -> None:
    """A pure function."""
    frame = pd.DataFrame([row("A", avoids="milk"), row("B", food="appel")])
    before = frame.copy(deep=True)
    check_table(frame)
    pd.testing.assert_frame_equal(frame, before)


def test_a_line_column_names_the_lines() -> None:
    """As the readers of files give it."""
    checked = check_table(pd.DataFrame([row("A", line=17), row("B", food="appel", line=23)]))
    assert checked.lunches["line"].to_list() == [17]
    assert checked.rejects["line"].to_list() == [23]


def test_a_printed_week_of_menus_as_a_table() -> None:
    """Vegetable credits by day of the US elementary menus (source in five_day_menu.toml), one lunch a day."""
    rows = []
    for menu in MENUS:
        for one in menu["vegetables"]:
            quantity = number(one["quantity"])
            more = {"credit_as": one["option"]} if "option" in one else {}
            rows.append(row(menu["id"], on="2024-09-02", food=one["food"], unit=one["unit"], quantity=quantity, **more))
    lunches = check_table(pd.DataFrame(rows)).lunches.set_index("lunch")
    columns = {"day": "vegetable_cup"} | {
        name: f"vegetable_{name}_cup" for name in ("dark_green", "red_orange", "legume", "starchy")
    }
    for menu in MENUS:
        for name, column in columns.items():
            assert lunches.loc[menu["id"], column] == number(menu["expect"][name]), (menu["id"], name)
    assert ids(MENUS) == ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday"]


def number(text: str | int) -> float:
    """A printed fraction such as 1/2."""
    whole, _stroke, part = str(text).partition("/")
    return int(whole) / int(part or 1)


@pytest.mark.parametrize("standard", ["us-school-lunch", "jp-school-lunch"])
def test_a_share_of_energy_without_energy_is_not_applicable(standard: str) -> None:
    """Water alone: counted as in the single check, apart from what is kept and broken."""
    asked = {
        "standard": standard,
        "on": "2026-12-01",
        "child": {"age_months": 100},
        "lunch": {"items": [{"food": "water"}]},
    }
    alone = Counter(one["status"] for one in check_lunch(LunchCheckRequest.model_validate(asked))["findings"])
    (lunch,) = check_table(
        pd.DataFrame([row(standard=standard, age_months=100, food="water", quantity=None, unit=None)])
    ).lunches.to_dict("records")
    assert alone["not_applicable"] > 0
    assert {status: lunch[status] for status in alone} == dict(alone)


def test_milk_is_not_asked_of_a_child_who_must_not_have_it() -> None:
    """As in the single check: the target does not apply, and is listed so; of other children it is asked."""
    rows = [row("L1", avoids="milk"), row("L2", avoids="egg"), row("L3", bans="milk")]
    found = check_table(pd.DataFrame(rows)).findings
    milk = found[(found["kind"] == "target") & (found["id"] == "milk")]
    assert dict(zip(milk["lunch"], milk["status"], strict=True)) == {
        "L1": "not_applicable",
        "L2": "short",
        "L3": "short",
    }


@pytest.mark.parametrize("field", ["avoids", "bans"])
@pytest.mark.parametrize(
    ("written", "plain"),
    [("gs1:AM", "milk"), ("gs1:AllergenTypeCode-AM", "milk"), ("peanut; gs1:AM", "peanut;milk")],
)
def test_a_gs1_code_stands_for_its_allergen(field: str, written: str, plain: str) -> None:
    """AM is milk (GS1 Web Vocabulary, AllergenTypeCode); its own colon is none before a threshold."""
    found = check_table(pd.DataFrame([row(food="sandwich-cheese", unit="sandwich", **{field: written})])).lunches
    same = check_table(pd.DataFrame([row(food="sandwich-cheese", unit="sandwich", **{field: plain})])).lunches
    assert found["verdict"].to_list() == ["do_not_pack"]
    pd.testing.assert_frame_equal(found, same)


def test_a_gs1_code_may_have_a_threshold() -> None:
    """As the name of an allergen may; one that is not known is refused."""
    rows = [
        row(lunch, food="sandwich-cheese", unit="sandwich", avoids=f"gs1:AM:{threshold}")
        for lunch, threshold in (("L1", "contains"), ("L2", "may_contain"), ("L3", "sometimes"))
    ]
    assert kept(rows) == ["L1", "L2"]
    assert [one[1:3] for one in faults(rows)] == [("L3", "avoids")]
