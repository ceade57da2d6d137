"""Use-by days against the printed figures of the sources.

foodsafety.gov cold food storage chart: cooked meat or poultry 3 to 4 days, egg, chicken, ham, tuna and macaroni salads 3 to
4 days, both in the fridge. FSIS storage data: bread 14 to 18 days in the pantry (195), cream cheese 2 weeks (10). UK:
leftovers within 2 days, cooked rice within 24 hours. US Food Code 3-501.17(A) (memory): 7 days, day 1 is the day of
preparation.
"""

from datetime import date

import pytest

from service.domain.foods.food import Food
from service.domain.messages import Message
from service.domain.stock.keeping import use_by
from service.reference.foods.catalogue import find_food
from service.reference.messages import say
from service.reference.stock.keeping import keeping_rules

SUNDAY = date(2026, 11, 29)
US, GB, ALL = keeping_rules(("US",)), keeping_rules(("GB",)), keeping_rules()


def food(food_id: str) -> Food:
    found = find_food(food_id)
    assert found is not None
    return found


def inner(rule: Message) -> Message:
    """The rule itself, without what is added of the rest of a dish."""
    within = rule.params.get("rule", rule)
    assert isinstance(within, Message)
    return within


@pytest.mark.parametrize(
    ("food_id", "place", "rules", "day"),
    [
        ("chicken-breast-roasted", "fridge", US, date(2026, 12, 2)),  # 3 to 4 days
        ("chicken-breast-roasted", "fridge", GB, date(2026, 12, 1)),  # 2 days
        ("chicken-breast-roasted", "fridge", ALL, date(2026, 12, 1)),  # the stricter
        ("chicken-salad", "fridge", US, date(2026, 12, 2)),  # 3 to 4 days
        ("rice-white-cooked", "fridge", ALL, date(2026, 11, 30)),  # 24 hours
        ("rice-white-cooked", "fridge", US, date(2026, 12, 3)),  # 4 to 6 days
        ("cheese-cream", "fridge", GB, date(2026, 12, 13)),  # 2 weeks: a US figure where the UK has none
        ("bread-white", "cupboard", ALL, date(2026, 12, 13)),  # 14 to 18 days
        ("bread-white", "freezer", ALL, date(2027, 2, 27)),  # 3 to 5 months
        ("chili-rice-flask", "fridge", ALL, date(2026, 11, 30)),  # the rice in it
        ("quesadilla-cheese", "fridge", ALL, date(2026, 12, 5)),  # day 7, with Sunday as day 1
    ],
)
def test_the_figures_of_the_sources(food_id: str, place: str, rules: object, day: date) -> None:
    assert use_by(food(food_id), place, SUNDAY, rules).day == day  # type: ignore[arg-type]


def test_the_rule_names_class_place_region_figure_and_source() -> None:
    rule = inner(use_by(food("rice-bowl-chicken"), "fridge", SUNDAY, ALL).rule)
    said = say(rule)
    for part in ("cooked rice", "in the fridge", "1 day", "UK", "fsa-rice", "29 November"):
        assert part in said


def test_a_printed_date_holds_until_the_packet_is_opened() -> None:
    ham, printed = food("ham-sliced"), date(2026, 12, 20)
    assert use_by(ham, "fridge", SUNDAY, US, printed=printed).day == printed
    opened = date(2026, 12, 1)
    assert use_by(ham, "fridge", SUNDAY, US, printed=printed, opened_on=opened).day == date(2026, 12, 4)  # 3 to 4 days
    assert use_by(ham, "fridge", SUNDAY, US, printed=opened, opened_on=opened).day == opened
    milk = use_by(food("milk-1-percent"), "fridge", SUNDAY, US, printed=printed, opened_on=opened)
    assert milk.day == printed  # no figure for opened milk was read


def test_time_in_the_freezer_does_not_count_and_time_before_it_does() -> None:
    """Food Code 3-501.18(A)(1) (memory): the time frozen is left out."""
    chicken, thawed = food("chicken-breast-roasted"), date(2026, 12, 14)
    assert use_by(chicken, "fridge", SUNDAY, US, thawed_on=thawed).day == date(2026, 12, 17)
    after_a_day = use_by(chicken, "fridge", SUNDAY, US, frozen_on=date(2026, 11, 30), thawed_on=thawed)
    assert after_a_day.day == date(2026, 12, 16)
    assert inner(after_a_day.rule).params["used"] == 1
    assert use_by(chicken, "fridge", SUNDAY, GB, thawed_on=thawed).day == date(2026, 12, 15)  # 24 hours once thawed


def test_frozen_after_its_printed_date_it_is_over() -> None:
    printed = date(2026, 11, 30)
    found = use_by(
        food("ham-sliced"), "fridge", SUNDAY, ALL, printed=printed, frozen_on=date(2026, 12, 2), thawed_on=SUNDAY
    )
    assert found.day == printed


def test_the_freezer_is_about_quality_only() -> None:
    found = use_by(food("chicken-breast-roasted"), "freezer", SUNDAY, ALL)
    assert found.quality
    assert "quality" in say(found.rule)
    assert not use_by(food("chicken-breast-roasted"), "fridge", SUNDAY, ALL).quality


@pytest.mark.parametrize(
    ("food_id", "place"), [("salad-lettuce", "fridge"), ("sandwich-ham", "cupboard"), ("snack-mix-seed", "cupboard")]
)
def test_without_a_figure_there_is_no_day_and_the_rule_says_what_to_do(food_id: str, place: str) -> None:
    known = find_food(food_id) or food("lettuce-green-leaf")
    found = use_by(known, place, SUNDAY, ALL)
    assert found.day is None
    assert any(word in say(found.rule) for word in ("packet", "fridge"))


def test_what_is_in_a_dish_without_a_figure_is_named() -> None:
    rule = use_by(food("sandwich-turkey-cheese"), "fridge", SUNDAY, ALL).rule
    assert rule.code == "keeping.rest-unknown"
    assert any("lettuce" in str(name) for name in rule.params["names"])  # type: ignore[union-attr]


def test_fruit_in_a_dish_is_cut_fruit() -> None:
    """FSIS storage data 179: cut fruit 4 days in the fridge; whole apples 4 to 6 weeks (248)."""
    from dataclasses import replace
    from fractions import Fraction

    from service.domain.foods.recipes import Ingredient, compose

    apple, oats = food("apple"), food("oats-rolled-dry") if find_food("oats-rolled-dry") else food("crackers-saltine")
    crumble = compose(
        recipe_id="crumble",
        name="crumble",
        ingredients=[Ingredient(apple, 400_000, None), Ingredient(oats, 100_000, None)],
        weight_change_percent=Fraction(0),
    )
    assert use_by(crumble, "fridge", SUNDAY, ALL).day == date(2026, 12, 3)
    assert use_by(crumble, "cupboard", SUNDAY, ALL).rule.code == "keeping.needs-cold"
    assert use_by(apple, "fridge", SUNDAY, ALL).day == date(2026, 12, 27)
    assert use_by(apple, "fridge", SUNDAY, ALL, prepared=True).day == date(2026, 12, 3)
    unknown = replace(crumble, made_of=(), handling=crumble.handling._replace(perishable=None))
    assert use_by(unknown, "fridge", SUNDAY, ALL, prepared=True).day == date(2026, 12, 5)  # day 7 of prepared food
