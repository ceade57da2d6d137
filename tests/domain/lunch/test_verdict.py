"""The verdict is the worst finding; figures off a week's mean do not fail a lunch unless far off."""

from datetime import date

import pytest

from service.domain.allergens.screening import Avoidance, Screened
from service.domain.foods.amounts import add_up
from service.domain.foods.food import Containment
from service.domain.lunch.findings import Judgement, judge
from service.domain.lunch.handling import HandlingFinding, HandlingStatus
from service.domain.lunch.special_rules import RuleFinding
from service.domain.lunch.standards import TargetTable
from service.domain.lunch.verdict import off_the_mean, score_of, verdict_of
from tests.builders import measured, table

US = table("us-school-lunch", "grades-k-5", date(2025, 9, 1))
GOOD = {
    "energy_kcal": 600,
    "saturated_fat_g": 3,
    "sodium_mg": 800,
    "fluid_milk_cup": 1,
    "meat_alternate_oz_eq": 1,
    "grain_oz_eq": 1,
    "fruit_cup": "0.5",
    "vegetable_cup": "0.75",
}


def judgements(of: TargetTable = US, **changed: int | str) -> list[Judgement]:
    totals = add_up([measured({**GOOD, **changed})])
    return [judge(target, totals) for target in of.targets]


def screened(level: str) -> Screened:
    outcome = {
        "contains": "avoid",
        "may_contain": "may_contain",
        "unknown": "check_label",
        "label_not_seen": "label_not_seen",
        "free": "not_declared",
    }
    forbids = level == "contains"
    return Screened(
        Avoidance("egg", "contains"),
        outcome[level],  # type: ignore[arg-type]
        "egg",
        Containment(level, "label_statement"),  # type: ignore[arg-type]
        forbids,
    )


def handling(status: HandlingStatus) -> HandlingFinding:
    return HandlingFinding("holding:cold", status, ("milk",), "brief", "words", "usda", "read")


def rule(status: str) -> RuleFinding:
    return RuleFinding("yogurt", "sugar", status, "pot", 1.0, 2.0, "g", "words", "cfr", "read")  # type: ignore[arg-type]


def test_a_good_lunch_is_packed_with_full_score() -> None:
    found = judgements()
    assert {one.status for one in found} == {"met"}
    assert verdict_of(found, [rule("met")], [screened("free")], [handling("in_order")]) == "pack"
    assert score_of(found) == 100.0


@pytest.mark.parametrize(
    ("rules", "allergens", "keeping", "verdict"),
    [
        (["met"], ["may_contain"], ["in_order"], "pack"),
        (["over"], ["free"], ["in_order"], "adjust"),
        (["unknown"], ["free"], ["in_order"], "adjust"),
        (["met"], ["free"], ["fix"], "adjust"),
        (["met"], ["free"], ["unknown"], "adjust"),
        (["over"], ["unknown"], ["fix"], "check_label"),
        (["met"], ["unknown", "contains"], ["in_order"], "do_not_pack"),
        (["met"], ["unknown"], ["in_order", "do_not_pack"], "do_not_pack"),
    ],
)
def test_the_worst_finding_decides(rules: list[str], allergens: list[str], keeping: list[str], verdict: str) -> None:
    told = verdict_of(
        judgements(),
        [rule(one) for one in rules],
        [screened(one) for one in allergens],
        [handling(one) for one in keeping],  # type: ignore[arg-type]
    )
    assert told == verdict


def test_a_daily_minimum_that_is_missed_is_to_be_adjusted() -> None:
    found = judgements(fruit_cup="0.375")
    assert [one.target.id for one in found if one.counts] == ["fruit"]
    assert verdict_of(found, [], [], []) == "adjust"


def test_a_weekly_mean_slightly_off_is_told_and_packed() -> None:
    """Sodium 1,200 mg against 1,110 as the mean of a week: other days may even it out."""
    found = judgements(sodium_mg=1200)
    assert [one.target.id for one in found if off_the_mean(one)] == ["sodium"]
    assert not any(one.counts for one in found)
    assert verdict_of(found, [], [], []) == "pack"
    assert score_of(found) < 100.0


def test_a_weekly_mean_far_off_counts() -> None:
    found = judgements(sodium_mg=4000)
    sodium = next(one for one in found if one.target.id == "sodium")
    assert sodium.satisfaction == 0.0
    assert sodium.counts
    assert verdict_of(found, [], [], []) == "adjust"


def test_the_score_is_the_weighted_mean() -> None:
    """Sodium half way to its distance (computed from the row's own figures)."""
    sodium = next(target for target in US.targets if target.id == "sodium")
    assert sodium.at_most is not None
    half_way = round(sodium.at_most * (1 + sodium.distance_percent / 200), 3)
    found = judgements(sodium_mg=str(half_way))
    every = sum(target.weight for target in US.targets)
    assert score_of(found) == pytest.approx(100 * (every - sodium.weight / 2) / every, abs=0.05)


def test_nothing_to_judge_has_no_score() -> None:
    assert score_of([]) == 0.0
    assert verdict_of([], [], [], []) == "pack"


def test_a_label_not_seen_keeps_the_lunch_open() -> None:
    """However unusual the allergen is in such foods: only a label that was read settles it."""
    assert verdict_of(judgements(), [], [screened("free"), screened("label_not_seen")], []) == "check_label"
