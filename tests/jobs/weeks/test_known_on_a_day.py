"""Promise: a day of a week may say by which packets it is judged, and what had to be kept away on it."""

from datetime import timedelta
from typing import Any

import pytest

from service.domain.errors import LunchError
from tests.week_days import MONDAY, item, packed_week, summed

HUMMUS = [item("hummus", 40), item("apple")]
CLEAR = {"food": "hummus", "read_on": "2026-11-03", "ingredients": "Chickpeas, water, salt."}
MILKY = {**CLEAR, "ingredients": "Chickpeas, yogurt (milk), salt."}
MILK = [{"allergen": "milk"}]
CHILD = {"age_years": 8, "avoids": MILK}


def outcomes(rows: list[dict[str, Any]], food: str = "hummus") -> dict[str, str]:
    """Of one food what was found on each day."""
    return {day: row["outcome"] for row in rows if row["food"] == food for day in row["dates"]}


def test_a_day_is_judged_by_its_own_packets_and_no_others() -> None:
    """The request's packet names milk; Tuesday's does not; Wednesday has none, so the label is still to be read."""
    monday, tuesday, wednesday = packed_week([HUMMUS] * 3)
    reply = summed(
        [monday, {**tuesday, "packets": [CLEAR]}, {**wednesday, "packets": []}], child=CHILD, packets=[MILKY]
    )
    days = [(MONDAY + timedelta(days=place)).isoformat() for place in range(3)]
    found = outcomes(reply["allergens"])
    assert [found[day] for day in days[:2]] == ["avoid", "not_declared"]
    assert found[days[2]] in ("check_label", "label_not_seen")


def test_the_figures_of_a_day_are_those_of_its_own_packets() -> None:
    """400 kcal in 100 g for the week, 100 kcal on Tuesday, for 40 g each."""
    monday, tuesday = packed_week([[item("hummus", 40)]] * 2)
    printed = [{**CLEAR, "facts": {"energy_kcal": kcal}, "facts_rounded": False} for kcal in (400, 100)]
    reply = summed([monday, {**tuesday, "packets": printed[1:]}], child=CHILD, packets=printed[:1])
    assert [day["totals"]["energy_kcal"]["amount"] for day in reply["days"][:2]] == [160, 40]


def test_a_day_says_itself_what_had_to_be_kept_away() -> None:
    """Monday as the request says; on Tuesday nothing; on Wednesday the school banned milk."""
    monday, tuesday, wednesday = packed_week([[item("milk-1-percent", 246)]] * 3)
    days = [monday, {**tuesday, "avoids": []}, {**wednesday, "avoids": [], "setting": {"bans": ["milk"]}}]
    reply = summed(days, child=CHILD)
    assert [(row["avoided_by"], row["dates"]) for row in reply["allergens"]] == [
        ("child", [MONDAY.isoformat()]),
        ("setting", [(MONDAY + timedelta(days=2)).isoformat()]),
    ]


@pytest.mark.parametrize(
    ("day", "place"),
    [
        ({"packets": [{**CLEAR, "food": "humus-of-nobody"}]}, "days/0/packets/0/food"),
        ({"avoids": [{"allergen": "moonbeam"}]}, "days/0/avoids/0/allergen"),
        ({"setting": {"bans": ["moonbeam"]}}, "days/0/setting/bans/0"),
    ],
)
def test_what_a_day_says_wrongly_is_refused_at_its_place(day: dict[str, Any], place: str) -> None:
    (monday,) = packed_week([HUMMUS])
    with pytest.raises(LunchError) as fault:
        summed([{**monday, **day}])
    assert [one.pointer.strip("#/") for one in fault.value.faults()] == [place]
