"""A food against what is avoided: unknown is never clear, and a warning next to something unknown is not lost."""

import pytest

from service.domain.allergens.screening import Avoidance, Threshold, screen, screen_food
from service.domain.foods.food import AllergenProfile, Containment, worse
from service.reference.allergens.vocabulary import vocabulary
from tests.builders import food

CLEAR = Containment("free", "label_statement", "not named in the ingredient statement")


@pytest.mark.parametrize(
    ("threshold", "outcome", "do_not_pack"), [("contains", "check_label", False), ("may_contain", "may_contain", True)]
)
def test_a_warning_beside_something_unknown(threshold: Threshold, outcome: str, do_not_pack: bool) -> None:
    """Below the threshold the warning settles nothing: what is unknown is still to be read."""
    profile = AllergenProfile({"milk": Containment("unknown", "read_label", "may contain milk", warned=True)}, CLEAR)
    found = screen_food(vocabulary(), food("bar", allergens=profile), Avoidance("milk", threshold))
    assert (found.outcome, found.do_not_pack) == (outcome, do_not_pack)


@pytest.mark.parametrize(
    ("level", "outcome", "do_not_pack"), [("may_contain", "may_contain", True), ("contains", "check_label", False)]
)
def test_a_group_named_with_one_of_its_members(level: str, outcome: str, do_not_pack: bool) -> None:
    """ "May contain tree nuts, almond" warns of walnut too; "contains tree nuts (almond)" leaves walnut unknown."""
    seen = Containment(level, "label_statement", f"{level} tree nuts, almond")  # type: ignore[arg-type]
    profile = AllergenProfile({"tree_nut": seen, "almond": seen}, CLEAR)
    found = screen_food(vocabulary(), food("bar", allergens=profile), Avoidance("walnut", "may_contain"))
    assert (found.outcome, found.do_not_pack) == (outcome, do_not_pack)


def test_every_food_is_held_against_every_avoidance_and_the_clear_ones_are_made_first() -> None:
    milk = food("cheese", allergens=AllergenProfile({"milk": Containment("contains", "nature", "cheese")}, CLEAR))
    plain = food("apple", allergens=AllergenProfile({}, CLEAR))
    avoids = [Avoidance("egg", "contains"), Avoidance("milk", "contains")]
    screening = screen(vocabulary(), [avoids, []], [[milk, plain], [plain]])
    assert [(cell.child, cell.thing, len(cell.found)) for cell in screening.cells] == [
        (0, 0, 4),
        (0, 1, 2),
        (1, 0, 0),
        (1, 1, 0),
    ]
    assert [(place, one.avoidance.allergen, one.outcome) for place, one in screening.cells[0].found] == [
        (0, "egg", "not_declared"),
        (0, "milk", "avoid"),
        (1, "egg", "not_declared"),
        (1, "milk", "not_declared"),
    ]
    assert [step.item for step in screening.steps] == ["apple", "cheese"]
    assert [screening.foods[step.place] for step in screening.steps] == [plain, milk]


UNUSUAL = Containment("label_not_seen", "category")


@pytest.mark.parametrize("threshold", ["contains", "may_contain"])
@pytest.mark.parametrize("allergen", ["tree_nut", "almond"])
def test_an_allergen_that_is_not_usual_in_the_food_is_to_be_read_once(threshold: Threshold, allergen: str) -> None:
    """Of the group and of each of its members; it is never clear."""
    found = screen_food(
        vocabulary(), food("cheese", allergens=AllergenProfile({"tree_nut": UNUSUAL})), Avoidance(allergen, threshold)
    )
    assert (found.outcome, found.do_not_pack, found.unread, found.keeps_out) == ("label_not_seen", False, True, False)


def test_a_warning_beside_a_label_not_seen_forbids_at_its_threshold() -> None:
    profile = AllergenProfile({"milk": worse(UNUSUAL, Containment("may_contain", "label_statement"))}, CLEAR)
    strict, mild = (
        screen_food(vocabulary(), food("bar", allergens=profile), Avoidance("milk", threshold))
        for threshold in ("may_contain", "contains")
    )
    assert (strict.outcome, strict.do_not_pack) == ("may_contain", True)
    assert (mild.outcome, mild.unread) == ("label_not_seen", True)
