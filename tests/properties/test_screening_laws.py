"""Screening fails closed, and nothing that is added to a dish makes a finding go away."""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from service.domain.allergens.screening import OUTCOME_RANK, Avoidance, Screened, making_order, screen_food
from service.domain.foods.food import UNKNOWN, AllergenProfile, Containment, Food, Level
from service.domain.foods.recipes import Ingredient, compose
from service.reference.allergens.vocabulary import vocabulary
from tests.builders import food
from tests.strategies import LAW

pytestmark = pytest.mark.property

WORDS = vocabulary()
IDS = sorted(WORDS.allergens)
LEVELS: list[Level] = ["contains", "may_contain", "unknown", "label_not_seen", "free"]
RANK_OF_UNREAD = {"unknown": OUTCOME_RANK["check_label"], "label_not_seen": OUTCOME_RANK["label_not_seen"]}
CLEAR = Containment("free", "label_statement")
AVOIDANCES = st.builds(Avoidance, st.sampled_from(IDS), st.sampled_from(["contains", "may_contain"]))


@st.composite
def related_ids(draw: st.DrawFn) -> list[str]:
    """A few allergens that have to do with each other: a group, its members, or strangers."""
    one = draw(st.sampled_from(IDS))
    kin = sorted({one} | WORDS.members_of(one) | WORDS.groups_of(one))
    return draw(st.lists(st.sampled_from(kin) | st.sampled_from(IDS), max_size=4, unique=True))


@st.composite
def profiles(draw: st.DrawFn) -> AllergenProfile:
    """What is known of the allergens of a food, on a label or by its nature."""
    named = {one: Containment(draw(st.sampled_from(LEVELS)), "label_statement") for one in draw(related_ids())}
    others = draw(st.sampled_from([UNKNOWN, Containment("label_not_seen", "category"), Containment("free", "nature")]))
    return AllergenProfile(named, others)


def with_profile(profile: AllergenProfile, name: str = "food") -> Food:
    return food(name, allergens=profile)


def screened(profile: AllergenProfile, avoidance: Avoidance) -> Screened:
    return screen_food(WORDS, with_profile(profile), avoidance)


def dish_of(profiles: list[AllergenProfile]) -> Food:
    """A recipe of foods with these profiles."""
    parts = [with_profile(profile, f"part {place}") for place, profile in enumerate(profiles)]
    return compose(recipe_id="dish", name="dish", ingredients=[Ingredient(part, 10_000, None) for part in parts])


def graveness(one: Screened) -> tuple[bool, float]:
    """What follows from it; a warning below the threshold leaves a lunch as it is, so it ranks below a label not read."""
    below = one.outcome == "may_contain" and not one.do_not_pack
    return one.do_not_pack, OUTCOME_RANK["label_not_seen"] / 2 if below else OUTCOME_RANK[one.outcome]


@pytest.mark.parametrize("allergen", IDS)
def test_a_food_of_which_nothing_is_known_is_unclear_for_everybody(allergen: str) -> None:
    for threshold in ("contains", "may_contain"):
        one = screen_food(WORDS, food("no label"), Avoidance(allergen, threshold))
        assert one.outcome == "check_label"


@LAW
@given(profiles(), AVOIDANCES)
def test_not_declared_needs_a_level_of_free_and_nothing_against_it(
    profile: AllergenProfile, avoidance: Avoidance
) -> None:
    one = screened(profile, avoidance)
    if one.outcome == "not_declared":
        own = profile.named.get(avoidance.allergen)
        groups = [profile.named[one] for one in WORDS.groups_of(avoidance.allergen) if one in profile.named]
        says = [own] if own else groups or [profile.others]
        assert all(seen.level == "free" for seen in says)
        for member in WORDS.members_of(avoidance.allergen):
            assert profile.named.get(member, Containment("free", "nature")).level == "free"
        if WORDS.allergens[avoidance.allergen].apart and own is not None:
            return  # lactose-free milk
        for group in WORDS.groups_of(avoidance.allergen):
            level = profile.named.get(group, Containment("free", "nature")).level
            # "Free of almonds" says more of almonds than "some nuts, which are not known".
            assert level == "free" or (own is not None and level in ("unknown", "label_not_seen"))


@LAW
@given(profiles(), AVOIDANCES)
def test_what_is_contained_must_not_be_packed(profile: AllergenProfile, avoidance: Avoidance) -> None:
    """By the allergen itself or a member of the group avoided; a group that may hold it is at least unclear."""
    one = screened(profile, avoidance)
    own = {avoidance.allergen} | WORDS.members_of(avoidance.allergen)
    if any(profile.named[i].level == "contains" for i in own & set(profile.named)):
        assert one.outcome == "avoid"
        assert one.do_not_pack
    above = WORDS.groups_of(avoidance.allergen) & set(profile.named)
    if any(profile.named[group].level == "contains" for group in above):
        assert one.outcome in ("avoid", "check_label")


@LAW
@given(profiles(), AVOIDANCES)
@example(
    AllergenProfile({"tree_nut": UNKNOWN}, Containment("free", "label_statement")), Avoidance("cashew", "contains")
)
def test_a_group_that_is_not_known_clears_none_of_its_members(profile: AllergenProfile, avoidance: Avoidance) -> None:
    """Pesto may hold some tree nut: nobody with one of them is better off than somebody who avoids them all."""
    for group in WORDS.groups_of(avoidance.allergen) & set(profile.named):
        if profile.named[group].level == "unknown":
            assert screened(profile, avoidance).outcome != "not_declared"


@LAW
@given(profiles(), st.sampled_from(IDS))
def test_a_stricter_threshold_never_finds_less(profile: AllergenProfile, allergen: str) -> None:
    strict, mild = (screened(profile, Avoidance(allergen, threshold)) for threshold in ("may_contain", "contains"))
    assert strict.do_not_pack or not mild.do_not_pack


@LAW
@given(st.data(), profiles(), AVOIDANCES)
def test_knowing_less_is_never_better(data: st.DataObject, profile: AllergenProfile, avoidance: Avoidance) -> None:
    """A grade that was found turns into "unknown": of one allergen, or of all others."""
    before = screened(profile, avoidance)
    places: list[str | None] = [*profile.named, None]
    place = data.draw(st.sampled_from(places))
    if place is None:
        less = profile._replace(others=UNKNOWN)
    else:
        level = profile.named[place].level
        if level in ("contains", "may_contain"):
            return  # what was seen stays seen
        less = profile._replace(named={**profile.named, place: UNKNOWN})
    after = screened(less, avoidance)
    assert after.do_not_pack or not before.do_not_pack
    if not after.do_not_pack:
        assert graveness(after) >= graveness(before)


@LAW
@given(profiles(), AVOIDANCES)
@example(AllergenProfile({"tree_nut": Containment("unknown", "read_label")}, CLEAR), Avoidance("cashew", "contains"))
@example(AllergenProfile({"fish": Containment("label_not_seen", "category")}, CLEAR), Avoidance("cod", "contains"))
def test_what_is_not_known_of_a_group_is_not_known_of_a_member(profile: AllergenProfile, avoidance: Avoidance) -> None:
    """A child listed by the species is protected like one listed by the group."""
    groups = WORDS.groups_of(avoidance.allergen) & set(profile.named)
    if avoidance.allergen not in profile.named and groups:
        worst = max(RANK_OF_UNREAD.get(profile.named[group].level, 0) for group in groups)
        if screened(profile, avoidance).outcome in ("label_not_seen", "not_declared"):
            assert OUTCOME_RANK[screened(profile, avoidance).outcome] >= worst


def named(**levels: Level) -> AllergenProfile:
    """A label on which these are named and nothing is said of the rest."""
    return AllergenProfile({one: Containment(level, "label_statement") for one, level in levels.items()})


@LAW
@given(profiles(), AVOIDANCES)
@example(named(tree_nut="may_contain"), Avoidance("almond", "may_contain"))
def test_a_warning_at_the_threshold_is_not_hidden_by_something_unclear(
    profile: AllergenProfile, avoidance: Avoidance
) -> None:
    """ "May contain tree nuts" is a warning of almonds, whatever else of the label is unknown."""
    kin = {avoidance.allergen} | WORDS.members_of(avoidance.allergen) | WORDS.groups_of(avoidance.allergen)
    warned = any(profile.named[i].level == "may_contain" for i in kin & set(profile.named))
    if warned and avoidance.threshold == "may_contain":
        assert screened(profile, avoidance).do_not_pack


@LAW
@given(st.lists(profiles(), min_size=1, max_size=3), AVOIDANCES)
@example([named(peanut="may_contain"), named(peanut="unknown")], Avoidance("peanut", "may_contain"))
@example([named(tree_nut="contains"), named(almond="contains")], Avoidance("cashew", "contains"))
def test_a_dish_is_never_screened_better_than_an_ingredient(
    profiles: list[AllergenProfile], avoidance: Avoidance
) -> None:
    """Adding an ingredient removes no finding: neither what must not be packed nor what is unclear."""
    whole = screen_food(WORDS, dish_of(profiles), avoidance)
    for profile in profiles:
        alone = screened(profile, avoidance)
        assert whole.do_not_pack or not alone.do_not_pack
        if not whole.do_not_pack:
            assert graveness(whole) >= graveness(alone)


@LAW
@given(st.data(), st.lists(profiles(), min_size=2, max_size=4), AVOIDANCES)
def test_the_order_of_ingredients_does_not_matter(
    data: st.DataObject, profiles: list[AllergenProfile], avoidance: Avoidance
) -> None:
    one = screen_food(WORDS, dish_of(profiles), avoidance)
    other = screen_food(WORDS, dish_of(data.draw(st.permutations(profiles))), avoidance)
    assert graveness(one) == graveness(other)


@LAW
@given(st.lists(profiles(), min_size=1, max_size=5), st.lists(AVOIDANCES, max_size=3))
def test_what_lacks_an_allergen_is_never_made_on_a_board_that_holds_it(
    profiles: list[AllergenProfile], avoidances: list[Avoidance]
) -> None:
    """In the order of making, everything handled before and not handled now is cleaned away first."""
    things = [with_profile(profile, f"thing {place}") for place, profile in enumerate(profiles)]
    steps = making_order(WORDS, things, avoidances)
    assert sorted(step.item for step in steps) == sorted(thing.name for thing in things)
    on_the_board: set[str] = set()
    for step in steps:
        on_the_board -= set(step.clean_before)
        assert on_the_board <= set(step.handles)
        on_the_board |= set(step.handles)
