"""Law: packets and salted water have the same effect in a table as in the single check, on each lunch's own day."""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import LunchError
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.foods import Packet
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.tables.cautions import said_in
from service.jobs.tables.check_table import check_table
from service.jobs.tables.request import known_of_foods
from service.reference.foods.catalogue import find_food
from tests.jobs.tables.table_cases import Case, Reply, Row, cases
from tests.jobs.tables.test_same_as_single import assert_same_findings, assert_same_lunch, frame_of, plain
from tests.strategies import LAW

SAID: list[Row] = [
    {"ingredients": "Wheat flour, water, yeast, salt."},
    {"ingredients": "Rice, sunflower oil, salt.", "may_contain": ""},
    {"ingredients": "Oats, honey.", "may_contain": "May contain nuts, milk and sesame."},
    {"ingredients": "Сахар, пшеничная мука, молоко"},
    {"contains": "Contains: milk, egg, peanuts"},
    {"claims": ["gluten_free"]},
    {"allergens": [{"allergen": "sesame", "level": "not_named"}, {"allergen": "milk", "level": "contains"}]},
    {"facts": {"energy_kcal": 111.0, "sodium_mg": 250.0, "saturated_fat_g": 1.0}},
]
"""What packets say, invented."""
AVOIDED = "milk;sesame:may_contain;gluten_cereal"


def foods_in(lunches: list[Case]) -> list[str]:
    """The foods that packets may speak of: those of the rows and those in their dishes."""
    found: dict[str, None] = {}
    for item in (item for case in lunches for item in case.items):
        food = find_food(item["food"])
        assert food is not None
        found |= dict.fromkeys([food.id, *(part.id for part in food.made_of)])
    return list(found)


@st.composite
def kitchens(draw: st.DrawFn) -> tuple[list[Case], list[Packet], bool | None]:
    """Lunches on several days, packets of their foods read before, on or after these days, and what is said of salt."""
    drawn = draw(st.lists(cases(), min_size=1, max_size=5))
    lunches = [Case({**case.fields, "avoids": AVOIDED}, case.items) for case in drawn]
    days = [date.fromisoformat(case.fields["on"]) for case in lunches]
    packets: dict[tuple[str, date], Packet] = {}
    for _ in range(draw(st.integers(0, 6))):
        food = draw(st.sampled_from(foods_in(lunches)))
        read_on = draw(st.sampled_from(days)) + timedelta(days=draw(st.sampled_from([0, 0, -1, -30, -100, 3])))
        holds = draw(st.sampled_from([0, 1, 90, 366]))
        says = draw(st.sampled_from(SAID))
        packets[food, read_on] = Packet.model_validate(
            {"food": food, "read_on": read_on.isoformat(), "holds_for_days": holds, **says}
        )
    return lunches, list(packets.values()), draw(st.sampled_from([None, True, False]))


def single(case: Case, packets: list[Packet], salted: bool | None) -> Reply | None:
    """What the single check answers; None where it refuses."""
    body = {**case.request(), "salts_cooking_water": salted}
    asked = LunchCheckRequest.model_validate(body).model_copy(update={"packets": packets})
    try:
        return check_lunch(asked)
    except LunchError:
        return None


@pytest.mark.property
@given(kitchen=kitchens())
@LAW
def test_a_table_with_packets_says_what_the_single_check_says(
    kitchen: tuple[list[Case], list[Packet], bool | None],
) -> None:
    """Lunch by lunch, finding by finding, and in what is said of the foods."""
    lunches, packets, salted = kitchen
    checked = check_table(frame_of(lunches), known=known_of_foods(packets, salted))
    rows = {row["lunch"]: row for row in plain(checked.lunches)}
    findings: dict[str, list[Row]] = {}
    for one in plain(checked.findings):
        findings.setdefault(one["lunch"], []).append(one)
    replies = {f"L{number}": single(case, packets, salted) for number, case in enumerate(lunches)}
    answered = {name: reply for name, reply in replies.items() if reply is not None}
    assert set(rows) == set(answered)
    for name, reply in answered.items():
        assert_same_lunch(rows[name], reply)
        assert_same_findings(findings[name], reply)
    wanted = [one for reply in answered.values() for one in of_foods(reply)]
    said = said_in([checked.cautions])
    assert {one.params["item"] for one in said if one.code == "caution.not-read"} == {
        one["params"]["item"] for one in wanted if one["code"] == "caution.not-read"
    }
    asked = [one.params["names"] for one in said if one.code == "caution.salted-water"]
    names = {name for one in wanted if one["code"] == "caution.salted-water" for name in one["params"]["names"]}
    assert asked == ([sorted(names)] if names else [])


def of_foods(reply: Reply) -> Iterator[Any]:
    """The cautions of a reply that speak of its foods."""
    return (one for one in reply["caution_messages"] if one["code"] in ("caution.not-read", "caution.salted-water"))


def row(lunch: str, on: str, food: str = "bread-whole-wheat") -> Row:
    """One lunch of one food for a child that must not have sesame."""
    return {
        "lunch": lunch,
        "standard": "us-school-lunch",
        "on": on,
        "age_years": 9,
        "food": food,
        "avoids": "sesame",
    }


def test_a_packet_is_used_on_the_days_it_holds_only() -> None:
    """Read on 1 December, for ten days: by hand, the 1st to the 11th."""
    packet = {"food": "bread-whole-wheat", "read_on": "2026-12-01", "holds_for_days": 10}
    known = known_of_foods([Packet.model_validate({**packet, "ingredients": "Wheat flour, water, salt."})], None)
    days = ["2026-11-30", "2026-12-01", "2026-12-11", "2026-12-14"]
    checked = check_table(pd.DataFrame([row(day, day) for day in days]), known=known)
    outcomes = dict(zip(checked.lunches["lunch"], checked.lunches["allergen_outcome"], strict=True))
    assert outcomes == dict(zip(days, ["check_label", "not_declared", "not_declared", "check_label"], strict=True))


def test_what_is_asked_of_the_parts_of_a_table_is_asked_once() -> None:
    """Each part speaks of its own foods; together it is one question about all of them."""
    parts = [
        check_table(pd.DataFrame([row("A", "2026-12-01", food)])) for food in ("pasta-cooked", "peas-green-cooked")
    ]
    (asked,) = said_in([one.cautions for one in parts])
    pasta, peas = find_food("pasta-cooked"), find_food("peas-green-cooked")
    assert pasta is not None
    assert peas is not None
    assert asked.params["names"] == sorted([pasta.name, peas.name])
