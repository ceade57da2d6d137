"""Choking forms by age and region, and cold and hot holding, with the shipped figures.

Figures: USDA packed-lunch guidance (insulated bag, two cold sources, 2 h at room temperature, 1 h above
32 C, flask filled at 74 C), Great Britain hot holding 63 °C. Ages and forms of the rules here are invented.
"""

import pytest

from service.domain.foods.food import Food, Handling
from service.domain.lunch.handling import (
    ChokingLimit,
    ChokingRule,
    HandlingFinding,
    HandlingRules,
    Holding,
    choking_finding,
    holding_findings,
)
from service.reference.lunch.handling import handling_rules
from service.reference.messages import say
from tests.builders import food

RULES = HandlingRules(
    choking={
        "round": ChokingRule(
            "round",
            "round things",
            frozenset({"whole"}),
            frozenset({"quartered_length", "mashed"}),
            "Cut lengthways into quarters.",
            (
                ChokingLimit("GB", 72, False, "gb-guide", "read"),
                ChokingLimit("US", 48, False, "us-guide", "read", frozenset({"quartered_length"})),
            ),
        ),
        "hard": ChokingRule(
            "hard",
            "hard things",
            frozenset({"whole"}),
            frozenset({"ground"}),
            "Never for the youngest.",
            (ChokingLimit("GB", 72, False, "gb-guide", "read"), ChokingLimit("US", 48, True, "us-guide", "read")),
        ),
    },
    holding={},
)
BOTH = ("US", "GB")


def thing(rule: str = "round", *forms: str, perishable: bool | None = None) -> Food:
    return food("thing", handling=Handling(forms=forms, choking_rule=rule, perishable=perishable))


def status(one: HandlingFinding | None) -> str:
    return "none" if one is None else one.status


@pytest.mark.parametrize(
    ("months", "regions", "form", "expected"),
    [
        (47, ("US",), "whole", "do_not_pack"),
        (48, ("US",), "whole", "none"),
        (71, ("GB",), "whole", "do_not_pack"),
        (72, BOTH, "whole", "none"),
        (50, ("US",), "whole", "none"),
        (50, BOTH, "whole", "do_not_pack"),
        (50, BOTH, "mashed", "in_order"),
        (40, BOTH, "mashed", "do_not_pack"),
        (40, ("GB",), "mashed", "in_order"),
        (40, BOTH, "quartered_length", "in_order"),
        (40, BOTH, "sliced", "do_not_pack"),
    ],
)
def test_the_stricter_region_that_still_covers_the_child_counts(
    months: int, regions: tuple[str, ...], form: str, expected: str
) -> None:
    assert status(choking_finding(RULES, thing(), form, months, regions)) == expected


def test_a_form_in_neither_list_or_not_said_is_taken_as_risky() -> None:
    assert status(choking_finding(RULES, thing(), "strip", 40, BOTH)) == "do_not_pack"
    one = choking_finding(RULES, thing(), None, 40, BOTH)
    assert status(one) == "do_not_pack"
    assert one is not None
    assert (one.said.code, one.said.params["form"]) == ("choking.concern", "not-given")
    assert one.said.params["prepare"] == "Cut lengthways into quarters."


def test_without_a_form_the_usual_one_of_the_food_is_meant() -> None:
    assert status(choking_finding(RULES, thing("round", "quartered_length", "whole"), None, 40, BOTH)) == "in_order"
    assert status(choking_finding(RULES, thing("round", "whole"), None, 40, BOTH)) == "do_not_pack"


def test_a_food_without_a_rule_has_no_finding() -> None:
    assert choking_finding(RULES, food("bread"), "whole", 14, BOTH) is None


def test_never_means_whole_or_cut_up() -> None:
    one = choking_finding(RULES, thing("hard"), "whole", 40, BOTH)
    assert one is not None
    assert one.status == "do_not_pack"
    assert (one.said.code, one.said.params["years"], one.said.params["region"]) == ("choking.never", 4, "US")


# --- holding, with the shipped figures

MILK = food("milk", handling=Handling(perishable=True))
SOUP = food("soup", handling=Handling(perishable=True))
APPLE = food("apple", handling=Handling(perishable=False))
LABEL = food("a label food")


def kept(holding: Holding, *items: tuple[Food, str], regions: tuple[str, ...] = BOTH) -> dict[str, str]:
    found = holding_findings(handling_rules(), items, holding, regions)  # type: ignore[arg-type]
    return {one.id: one.status for one in found}


@pytest.mark.parametrize(
    ("holding", "expected"),
    [
        (Holding(insulated=True, cold_sources=2), "in_order"),
        (Holding(insulated=True, cold_sources=1), "fix"),
        (Holding(insulated=False, cold_sources=2), "fix"),
        (Holding(insulated=True), "unknown"),
        (Holding(cold_sources=2), "unknown"),
        (Holding(), "unknown"),
    ],
)
def test_a_cold_lunch(holding: Holding, expected: str) -> None:
    assert kept(holding, (MILK, "cold")) == {"holding:cold": expected}


@pytest.mark.parametrize(
    ("minutes", "ambient_c", "expected"),
    [
        (120, None, {"holding:room-temperature": "in_order"}),
        (121, None, {"holding:cold": "unknown"}),
        (60, 33.0, {"holding:room-temperature": "in_order"}),
        (61, 33.0, {"holding:cold": "unknown"}),
        (120, 32.0, {"holding:room-temperature": "in_order"}),
    ],
)
def test_a_lunch_eaten_soon(minutes: int, ambient_c: float | None, expected: dict[str, str]) -> None:
    """Two hours at room temperature, one above 32 C."""
    assert kept(Holding(minutes_until_eaten=minutes, ambient_c=ambient_c), (MILK, "cold")) == expected


def test_what_does_not_spoil_needs_no_cold() -> None:
    assert kept(Holding(), (APPLE, "cold")) == {}


def test_not_known_to_keep_is_treated_as_perishable() -> None:
    assert kept(Holding(), (LABEL, "cold")) == {"holding:cold": "unknown"}


def test_a_perishable_item_outside_the_cold_is_to_be_fixed() -> None:
    assert kept(Holding(insulated=True, cold_sources=2), (MILK, "ambient")) == {"holding:cold": "fix"}


@pytest.mark.parametrize(
    ("preheated", "filled_at", "expected"),
    [
        (True, 74.0, "in_order"),
        (True, 73.9, "fix"),
        (False, 80.0, "fix"),
        (None, 80.0, "unknown"),
        (True, None, "unknown"),
        (None, None, "unknown"),
    ],
)
def test_a_flask(preheated: bool | None, filled_at: float | None, expected: str) -> None:
    holding = Holding(flask_preheated=preheated, flask_filled_at_c=filled_at)
    assert kept(holding, (SOUP, "hot")) == {"holding:hot": expected}


def test_hot_and_cold_are_told_apart_and_no_hours_are_promised() -> None:
    holding = Holding(insulated=True, cold_sources=2, flask_preheated=True, flask_filled_at_c=80.0)
    found = holding_findings(handling_rules(), [(MILK, "cold"), (SOUP, "hot")], holding, BOTH)
    assert [(one.id, one.items) for one in found] == [("holding:cold", ("milk",)), ("holding:hot", ("soup",))]
    assert "How many hours this lasts is not known" in say(found[0].said)
    assert "63" in say(found[1].said)


def test_the_stricter_hot_holding_of_the_regions_asked_for() -> None:
    """Great Britain 63 °C, US consumer guidance 60 °C."""
    for regions, celsius in ((("US",), "60"), (("GB",), "63"), (BOTH, "63")):
        (one,) = holding_findings(handling_rules(), [(SOUP, "hot")], Holding(), regions)
        assert f"{celsius} °C" in say(one.said)
