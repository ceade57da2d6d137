"""Statuses at and around a bound, and the sentences a parent reads."""

from datetime import date

import pytest

from service.domain.foods.amounts import ItemVector
from service.domain.lunch.findings import Judgement, finding_message, number, wanted
from service.domain.lunch.standards import TargetTable
from service.domain.messages import message
from service.reference.messages import say
from tests.builders import food, judged, measured, table, vector

ON = date(2025, 9, 1)
US = table("us-school-lunch", "grades-k-5", ON)
CHILD_CARE = table("us-child-care-lunch", "ages-3-5", ON)


def finding(target: str, *items: ItemVector, of: TargetTable = US) -> Judgement:
    return judged(of, items)[target]


@pytest.mark.parametrize(
    ("kcal", "status"), [("549.999", "short"), (550, "met"), (600, "met"), (650, "met"), ("650.001", "over")]
)
def test_both_ends_of_a_range_belong_to_it(kcal: str | int, status: str) -> None:
    assert finding("energy", measured({"energy_kcal": kcal})).status == status


@pytest.mark.parametrize(("grams", "status"), [("6.665", "met"), ("6.666", "met"), ("6.667", "over")])
def test_less_than_a_share_is_strict(grams: str, status: str) -> None:
    """10 % of 600 kcal is 60 kcal, 6.6667 g of fat."""
    assert finding("saturated-fat", measured({"energy_kcal": 600, "saturated_fat_g": grams})).status == status


def test_exactly_the_share_is_not_less_than_it() -> None:
    """9 g of 810 kcal are 81 kcal, 10 % to the last digit: 'less than 10 %' is not kept."""
    one = finding("saturated-fat", measured({"energy_kcal": 810, "saturated_fat_g": 9}))
    assert (one.status, one.amount) == ("over", 10.0)
    said = finding_message(one)
    assert (said.code, said.params["amount"], said.params["wanted"].code) == (
        "finding.at-the-bound-over",
        10.0,
        "wanted.less-than",
    )


def test_a_lunch_without_energy_has_no_shares() -> None:
    one = finding("saturated-fat", measured({"sodium_mg": 5}))
    assert one.status == "not_applicable"
    assert finding_message(one).code == "finding.no-energy"


def test_what_is_known_may_be_enough() -> None:
    """A minimum already reached is met and a maximum already passed is over, whatever else is unknown."""
    unknown = vector(food("soup", unknown=["energy_kcal", "sodium_mg"]), 200)
    assert finding("sodium", measured({"sodium_mg": "1110.001"}), unknown).status == "over"
    assert finding("sodium", measured({"sodium_mg": 1110}), unknown).status == "unknown"
    assert finding("energy", measured({"energy_kcal": 650}), unknown).status == "unknown"
    assert finding("energy", measured({"energy_kcal": "650.001"}), unknown).status == "over"


def test_a_minimum_alone_is_met_by_what_is_known() -> None:
    unknown = vector(food("soup", unknown=["energy_kcal"]), 200)
    japan = table("jp-school-lunch", "ages-8-9", ON)
    assert finding("energy", measured({"energy_kcal": 650}), unknown, of=japan).status == "met"
    assert finding("energy", measured({"energy_kcal": 649}), unknown, of=japan).status == "unknown"


def test_an_interval_round_a_bound_is_unknown() -> None:
    soup = food("soup", {"sodium_mg": 1110}, ranges={"sodium_mg": (1105, 1115)})
    assert finding("sodium", vector(soup, 100)).status == "unknown"
    assert finding("sodium", vector(soup, 101)).status == "over"
    assert finding("sodium", vector(soup, 99)).status == "met"


@pytest.mark.parametrize(
    ("target", "measure", "amount", "counts"),
    [
        ("energy", "energy_kcal", "844.999", False),
        ("energy", "energy_kcal", 845, True),
        ("energy", "energy_kcal", "385.001", False),
        ("energy", "energy_kcal", 385, True),
        ("sodium", "sodium_mg", "1664.999", False),
        ("sodium", "sodium_mg", 1665, True),
    ],
)
def test_a_lunch_off_the_mean_counts_from_where_satisfaction_is_nil(
    target: str, measure: str, amount: str | int, counts: bool
) -> None:
    """30 % beyond 550 to 650 kcal is 385 and 845, 50 % beyond 1,110 mg is 1,665 (by hand): from there on, not before."""
    one = finding(target, measured({"energy_kcal": 600, measure: amount}))
    assert one.status in ("short", "over")
    assert (one.counts, one.satisfaction == 0.0) == (counts, counts)


@pytest.mark.parametrize(
    ("measure", "low", "high", "status"),
    [
        ("energy_kcal", 500, 550, "unknown"),
        ("energy_kcal", 500, "549.999", "short"),
        ("energy_kcal", 550, 560, "met"),
        ("energy_kcal", 640, 650, "met"),
        ("energy_kcal", 650, 660, "unknown"),
        ("energy_kcal", "650.001", 660, "over"),
    ],
)
def test_the_end_of_an_interval_on_a_bound_may_keep_it(
    measure: str, low: str | int, high: str | int, status: str
) -> None:
    """550 to 650 kcal: a figure that may be just 550, or just 650, is not short or over for certain."""
    bar = food("bar", {measure: low}, ranges={measure: (low, high)})
    assert finding("energy", vector(bar, 100)).status == status


def test_a_mean_counts_only_where_a_lunch_is_beyond_its_limit_for_certain() -> None:
    """Both ends of the interval matter: 845 kcal or more, 385 kcal or less (by hand, as above)."""

    def counts(low: str | int, high: str | int) -> bool:
        bar = food("bar", {"energy_kcal": low}, ranges={"energy_kcal": (low, high)})
        return finding("energy", vector(bar, 100)).counts

    assert not counts("844.999", 900)
    assert counts(845, 900)
    assert not counts(300, "385.001")
    assert counts(300, 385)


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (
            finding("energy", measured({"energy_kcal": 600})),
            "Energy: 600 kcal. Wanted: 550 to 650 kcal on average over the week's lunches.",
        ),
        (
            finding("energy", measured({"energy_kcal": 500})),
            "Energy: 500 kcal, which is 50 kcal too little. Wanted: 550 to 650 kcal on average over the week's lunches.",
        ),
        (
            finding("sodium", measured({"sodium_mg": 1134})),
            "Sodium: 1,134 mg, which is 24 mg too much. Wanted: at most 1,110 mg on average over the week's lunches.",
        ),
        (
            finding("fruit", measured({"fruit_cup": "0.125"}), of=CHILD_CARE),
            "Fruit: 0.125 cups, which is 0.125 cups too little. Wanted: at least 0.25 cups in each lunch.",
        ),
        (
            finding("vegetable", measured({"vegetable_cup": "0.75"})),
            "Vegetables: 0.75 cups. Wanted: at least 0.75 cups each school day.",
        ),
    ],
)
def test_a_finding_says_amount_gap_and_what_is_wanted(one: Judgement, words: str) -> None:
    assert say(finding_message(one)) == words


def test_an_unknown_finding_names_what_is_missing() -> None:
    items = [measured({"sodium_mg": 400}), vector(food("soup", unknown=["sodium_mg"]), 200)]
    said = finding_message(finding("sodium", *items), missing=["soup"])
    assert (said.code, said.params["low"], said.params["unit"]) == ("finding.unknown-from", 400, "mg")
    assert said.params["reasons"] == [message("finding.no-figure", names=["soup"])]
    rounded = vector(food("bar", {"sodium_mg": 1110}, ranges={"sodium_mg": (1105, 1115)}), 100)
    said = finding_message(finding("sodium", rounded), label_rounds=["bar"])
    assert (said.code, said.params["low"], said.params["high"]) == ("finding.unknown-range", 1105, 1115)
    assert said.params["reasons"] == [message("finding.rounded-figure", names=["bar"])]


def test_what_is_met_or_over_whatever_is_not_known_is_said_to_be_so_much_or_more() -> None:
    salty = [measured({"sodium_mg": 1200}), vector(food("soup", unknown=["sodium_mg"]), 200)]
    assert say(finding_message(finding("sodium", *salty))).startswith(
        "Sodium: 1,200 mg or more, which is 90 mg or more"
    )
    fatty = [
        measured({"energy_kcal": 900, "saturated_fat_g": 10}),
        vector(food("soup", unknown=["saturated_fat_g"]), 200),
    ]
    assert finding_message(finding("saturated-fat", *fatty)).code == "finding.at-the-bound-over"
    japan = table("jp-school-lunch", "ages-8-9", ON)
    hearty = [measured({"energy_kcal": 700}), vector(food("soup", unknown=["energy_kcal"]), 200)]
    said = say(finding_message(finding("energy", *hearty, of=japan)))
    assert said.startswith("Energy: 700 kcal or more. Wanted: at least")


def test_a_figure_next_to_a_bound_shows_enough_places_to_tell_them_apart() -> None:
    assert number(650.4, "kcal") == "650"
    assert number(650.4, "kcal", 650.0) == "650.4"
    assert number(10.0001, "% of energy", 10.0) == "10.0001"
    assert number(1110.0, "mg", 1110.0) == "1,110"
    over = finding("energy", measured({"energy_kcal": "650.4"}))
    said = finding_message(over)
    assert (said.code, said.params["amount"], said.params["gap"]) == ("finding.over", 650.4, 0.4)


@pytest.mark.parametrize(
    ("amount", "unit", "shown"),
    [(0.44, "mg", "0.44"), (12.34, "mg", "12.3"), (1234.5, "mg", "1,234"), (0.5, "cup", "0.5"), (26.0, "g", "26")],
)
def test_places_go_by_size(amount: float, unit: str, shown: str) -> None:
    assert number(amount, unit) == shown


def test_wanted_in_words() -> None:
    by_id = {target.id: say(wanted(target)) for target in US.targets}
    assert by_id["saturated-fat"] == "less than 10% of the energy on average over the week's lunches"
    assert by_id["milk"] == "at least 1 cup each school day"
