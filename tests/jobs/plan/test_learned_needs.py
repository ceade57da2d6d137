"""Portions that are usually enough where it is known what a child takes: against every way to take, counted one by one."""

from fractions import Fraction
from itertools import permutations, product
from typing import Any

from service.domain.plan.portions.learned import TakenLunch
from service.jobs.plan.portion_needs import portion_needs
from service.jobs.plan.requests import PortionNeedsRequest

DAYS = ["2026-11-30", "2026-12-01"]
APPLE, PEAR = "apple", "pear"
BOTH = frozenset({APPLE, PEAR})
FAMILY = [
    {"nickname": "Kit", "age_years": 8, "standard": "us-school-lunch"},
    {
        "nickname": "Sam",
        "age_years": 8,
        "standard": "us-school-lunch",
        "without": [{"group": "fruit", "item": APPLE}],
    },
]
PRICES = [
    {"food": food, "amount_minor": amount, "currency": "USD", "pack_grams": 1000, "from": "2026-01-01"}
    for food, amount in ((APPLE, 300), (PEAR, 900))
]
APPLES_ONLY = [TakenLunch(BOTH, frozenset({APPLE}))] * 4


def needs(taken: list[TakenLunch] | None, **more: Any) -> dict[str, Any]:
    """The fruit for Kit, who may take both, and Sam, who takes pears only; ``taken``: by Kit before."""
    asked = PortionNeedsRequest.model_validate(
        {
            "offer": {"groups": [{"id": "fruit", "items": [{"food": APPLE}, {"food": PEAR}]}]},
            "children": FAMILY,
            "days": DAYS,
            "of_each": 0,
            "chance": 0.75,
            "prices": PRICES,
            **more,
        }
    )
    reply = portion_needs(asked if taken is None else asked.knowing([taken, []]))
    return dict(reply["groups"][0])


def by_item(group: dict[str, Any]) -> dict[str, int]:
    return {one["item"]: one["usual"] for one in group["items"]}


def counted(apples: int, pears: int, share: Fraction, days: int = len(DAYS)) -> Fraction:
    """How often they are enough: each morning each order is as likely, and Kit takes an apple with its share."""
    if days == 0:
        return Fraction(1)
    found = Fraction(0)
    for order in permutations(("Kit", "Sam")):
        for way, how in ((APPLE, share), (PEAR, 1 - share)):
            found += how / 2 * _morning(order, way, apples, pears, share, days)
    return found


def _morning(order: tuple[str, ...], way: str, apples: int, pears: int, share: Fraction, days: int) -> Fraction:
    left = {APPLE: apples, PEAR: pears}
    for who in order:
        wanted = PEAR if who == "Sam" else way
        if who == "Kit" and not left[wanted]:
            wanted = PEAR if wanted == APPLE else APPLE
        if not left[wanted]:
            return Fraction(0)
        left[wanted] -= 1
    return counted(left[APPLE], left[PEAR], share, days - 1)


def cheapest(group: dict[str, Any], share: Fraction) -> int:
    """The cost of the cheapest portions that are enough so often, of all there are."""
    cost = {one["item"]: one["cost_minor"] for one in group["items"]}
    return min(
        apples * cost[APPLE] + pears * cost[PEAR]
        for apples, pears in product(range(5), repeat=2)
        if counted(apples, pears, share) >= Fraction(3, 4)
    )


def test_what_was_learned_is_counted_as_every_way_to_take_is() -> None:
    """Four apples of four: (4 + 1) of (4 + 2). The portions are the cheapest of all that are enough so often."""
    group = needs(APPLES_ONLY)
    share = Fraction(5, 6)
    found = by_item(group)
    assert group["usual"]["chance"] == round(float(counted(found[APPLE], found[PEAR], share)), 6)
    assert abs(group["usual"]["cost_minor"] - cheapest(group, share)) <= 1  # a sum of parts of a cent is rounded once
    kit = group["readily"][0]
    assert (kit["how"], kit["lunches"]) == ("learned", 4)
    assert kit["shares"] == [{"item": APPLE, "share": 0.8333}, {"item": PEAR, "share": 0.1667}]
    assert kit["sentence"] == "Kit: how readily each food is taken was learned from 4 logged lunches."


def test_a_child_that_always_takes_the_apple_needs_more_apples_and_fewer_pears() -> None:
    equal, learned = by_item(needs(None)), by_item(needs(APPLES_ONLY * 15))
    assert learned[APPLE] > equal[APPLE]
    assert learned[PEAR] < equal[PEAR]


def test_nothing_learned_is_as_without_lunches() -> None:
    """A lunch that had none of the foods on offer says nothing of them."""
    plain = needs(None)
    assert plain["readily"][0]["how"] == "equal"
    for taken in ([], [TakenLunch(frozenset({"bread"}), frozenset({"bread"}))] * 9):
        assert needs(taken) == plain


def test_what_the_request_says_wins() -> None:
    liked = [{"child": 0, "group": "fruit", "item": PEAR, "times": 3}]
    group = needs(APPLES_ONLY, liked=liked)
    assert group == needs(None, liked=liked)
    assert group["readily"][0]["how"] == "given"
    assert group["readily"][0]["shares"] == [{"item": APPLE, "share": 0.25}, {"item": PEAR, "share": 0.75}]


def test_a_child_without_a_choice_has_no_row() -> None:
    assert [one["name"] for one in needs(APPLES_ONLY)["readily"]] == ["Kit"]
