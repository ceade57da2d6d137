"""Less knowledge is never better news: over foods of the tables, packets that were read, and dishes of both.

Asked as a request asks: ids of foods, texts of packets, recipes of ids.
"""

from collections import Counter
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.allergens.screening import OUTCOME_RANK, Avoidance, Screened, screen_food
from service.domain.foods.packets import Packets
from service.domain.labels.reader import read_label
from service.jobs.foods.packets import packets_at_hand
from service.jobs.foods.resolve import food_of
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.foods import Packet, PacketTick, Recipe
from service.jobs.requests.lunches import LunchCheckRequest
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.lunch_foods import lunch_foods
from service.reference.foods.recipes import recipes
from service.reference.labels.words import label_words
from tests.strategies import LAW

pytestmark = pytest.mark.property

DAY = date(2026, 12, 1)
WORDS = vocabulary()
GENERIC = ("sr28-01123", "sr28-11282", "sr28-11693", "sr28-23572", "sr28-16069", "sr28-02009", "sr28-20120")
"""Raw egg, raw onion, canned tomatoes, mince, dry lentils, chili powder, dry pasta."""
FOODS = (*sorted(one.id for one in lunch_foods()), *GENERIC)
NAMES = ("water", "salt", "sugar", "wheat flour", "milk", "egg yolk", "soy lecithin", "peanuts", "almonds", "rice", "sesame paste",
         "natural flavoring", "spices", "barley malt", "celery", "mustard", "cod", "shrimp")  # fmt: skip
ALLERGENS = ("milk", "egg", "wheat", "gluten_cereal", "soy", "peanut", "tree_nut", "almond", "sesame", "fish", "crustacean",
             "celery", "mustard", "coeliac disease")  # fmt: skip
AVOIDANCES = st.builds(
    Avoidance, st.sampled_from(sorted(WORDS.allergens)), st.sampled_from(["contains", "may_contain"])
)

STATEMENTS = st.lists(st.sampled_from(NAMES), min_size=1, max_size=5, unique=True).map(", ".join)
FOOD_IDS = st.sampled_from(FOODS)


@st.composite
def packets(draw: st.DrawFn, food: str) -> Packet:
    """A packet of a food: its list, its statement of what it contains, its warning, each read or not."""
    warned = draw(st.sampled_from(NAMES[3:]))
    return Packet(
        food=food,
        read_on=date(2026, 11, 28),
        ingredients=draw(st.none() | STATEMENTS),
        contains=draw(st.none() | st.sampled_from(NAMES[3:]).map("Contains: {}.".format)),
        may_contain=draw(st.sampled_from([None, "", f"May contain {warned}."])),
        allergens=draw(
            st.lists(
                st.builds(
                    PacketTick,
                    allergen=st.sampled_from(ALLERGENS[:-1]),
                    level=st.sampled_from(["contains", "may_contain", "not_named"]),
                ),
                min_size=1,
                max_size=2,
            )
        ),
    )


@st.composite
def known_foods(draw: st.DrawFn) -> tuple[str | Recipe, list[Packet]]:
    """A food of the tables or a dish of some, and packets of what it is made of."""
    ids = draw(st.lists(FOOD_IDS, min_size=1, max_size=3, unique=True))
    read = [draw(packets(one)) for one in ids if draw(st.booleans())]
    return (dish(ids) if len(ids) > 1 or draw(st.booleans()) else ids[0]), read


def dish(ids: list[str]) -> Recipe:
    """Fifty grams of each."""
    return Recipe.model_validate({"name": "dish", "ingredients": [{"food": one, "grams": 50} for one in ids]})


def graveness(asked: str | Recipe, known: Packets, avoidance: Avoidance) -> tuple[bool, float]:
    """What follows from an outcome; a warning below the threshold ranks below a label not read."""
    return graveness_of(screen_food(WORDS, food_of(asked, known), avoidance))


def graveness_of(one: Screened) -> tuple[bool, float]:
    below = one.outcome == "may_contain" and not one.do_not_pack
    return one.do_not_pack, OUTCOME_RANK["label_not_seen"] / 2 if below else OUTCOME_RANK[one.outcome]


def kin_of(allergen: str) -> set[str]:
    """An allergen, its members, its groups, and what shares a group with it."""
    groups = WORDS.groups_of(allergen)
    return {
        allergen,
        *WORDS.members_of(allergen),
        *groups,
        *(one for group in groups for one in WORDS.members_of(group)),
    }


def named_by(packet: Packet) -> set[str]:
    """The allergens that a packet speaks of, but for those ticked as not named."""
    reading = read_label(label_words(), packet.ingredients, packet.contains, packet.may_contain)
    ticked = {one for tick in packet.allergens if tick.level != "not_named" for one in kin_of(tick.allergen)}
    return {one.allergen for one in reading.evidence} | ticked


@LAW
@given(known_foods(), AVOIDANCES)
def test_a_packet_taken_away_improves_only_what_it_names(
    known: tuple[str | Recipe, list[Packet]], avoidance: Avoidance
) -> None:
    asked, read = known
    before = graveness(asked, packets_at_hand(read, DAY), avoidance)
    for place, packet in enumerate(read):
        fewer = [*read[:place], *read[place + 1 :]]
        if graveness(asked, packets_at_hand(fewer, DAY), avoidance) < before:
            assert named_by(packet) & kin_of(avoidance.allergen)


@LAW
@given(known_foods(), AVOIDANCES)
def test_a_list_that_was_not_read_is_never_better_than_one_that_does_not_name_it(
    known: tuple[str | Recipe, list[Packet]], avoidance: Avoidance
) -> None:
    asked, read = known
    before = graveness(asked, packets_at_hand(read, DAY), avoidance)
    for place, packet in enumerate(read):
        unread = packet.model_copy(update={"ingredients": None})
        less = [*read[:place], unread, *read[place + 1 :]]
        if graveness(asked, packets_at_hand(less, DAY), avoidance) < before:
            assert named_by(packet) & kin_of(avoidance.allergen)


@LAW
@given(known_foods(), AVOIDANCES)
def test_a_packet_whose_list_was_not_read_clears_only_what_was_ticked(
    known: tuple[str | Recipe, list[Packet]], avoidance: Avoidance
) -> None:
    asked, read = known
    half = [one.model_copy(update={"ingredients": None}) for one in read]
    ticked = {
        one
        for packet in half
        for tick in packet.allergens
        if tick.level == "not_named"
        for one in kin_of(tick.allergen)
    }
    if avoidance.allergen not in ticked:
        without = graveness(asked, packets_at_hand([], DAY), avoidance)
        assert graveness(asked, packets_at_hand(half, DAY), avoidance) >= without


@LAW
@given(known_foods(), AVOIDANCES)
def test_not_declared_comes_from_a_packet_or_a_single_food(
    known: tuple[str | Recipe, list[Packet]], avoidance: Avoidance
) -> None:
    asked, read = known
    found = screen_food(WORDS, food_of(asked, packets_at_hand(read, DAY)), avoidance)
    if found.outcome == "not_declared":
        assert found.evidence.basis == "nature" or (read and found.evidence.basis == "label_statement")


@LAW
@given(known_foods(), FOOD_IDS, AVOIDANCES)
def test_a_dish_is_never_better_than_without_an_ingredient_or_than_that_alone(
    known: tuple[str | Recipe, list[Packet]], more: str, avoidance: Avoidance
) -> None:
    asked, read = known
    at_hand = packets_at_hand(read, DAY)
    ids = [asked] if isinstance(asked, str) else [str(one.food) for one in asked.ingredients]
    whole = graveness(dish([*ids, more]), at_hand, avoidance)
    assert whole >= graveness(asked, at_hand, avoidance)
    assert whole >= graveness(more, at_hand, avoidance)


def found_in(
    items: list[dict[str, Any]], avoids: str, read: list[Packet]
) -> tuple[Counter[tuple[str, str, str]], bool]:
    """Each allergen and choking finding of a lunch for a four-year-old, and whether the lunch must not be packed."""
    asked = LunchCheckRequest.model_validate(
        {
            "standard": "us-child-care-lunch",
            "on": DAY.isoformat(),
            "child": {"age_years": 4, "avoids": [{"allergen": avoids, "threshold": "may_contain"}]},
            "lunch": {"items": items},
            "max_changes": 0,
            "packets": [one.model_dump(mode="json", exclude_unset=True) for one in read],
        }
    )
    check = check_lunch(asked)
    found = Counter((one["name"], one["allergen"], one["outcome"]) for one in check["allergens"])
    found += Counter((name, one["id"], one["status"]) for one in check["handling"] for name in one["items"])
    return found, bool(check["verdict"] == "do_not_pack")


@LAW
@given(
    st.lists(FOOD_IDS | st.sampled_from(sorted(recipes())), min_size=2, max_size=4, unique=True),
    st.sampled_from(ALLERGENS),
    st.data(),
)
def test_one_more_item_never_removes_a_finding(ids: list[str], avoids: str, data: st.DataObject) -> None:
    read = [data.draw(packets(one)) for one in ids if one in FOODS and data.draw(st.booleans())]
    items = [{"food": one} for one in ids]
    fewer, refused = found_in(items[1:], avoids, read)
    more, still_refused = found_in(items, avoids, read)
    kept = {finding for finding in fewer if not finding[1].startswith("holding:")}
    assert kept <= set(more)
    assert still_refused or not refused
