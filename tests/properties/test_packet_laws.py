"""A packet that is taken away never leaves a food better known: only what the packet named may get better without it."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.foods.food import UNKNOWN, AllergenProfile, Basis, Containment, Level
from service.domain.foods.packets import ReadPacket, profile_read
from service.domain.messages import message
from service.reference.allergens.vocabulary import vocabulary
from tests.builders import food
from tests.strategies import LAW

pytestmark = pytest.mark.property

WORDS = vocabulary()
IDS = sorted(WORDS.allergens)
SEEN = message("evidence.nature")
DAY = date(2026, 11, 3)
BASES: list[Basis] = ["nature", "usual_recipe", "read_label", "label_statement", "name", "none"]
LEVELS: list[Level] = ["contains", "may_contain", "free", "unknown"]
TICKS: list[Level] = ["contains", "may_contain", "free"]


def kin_of(allergen: str) -> set[str]:
    """An allergen, its members, its groups, and what shares a group with it."""
    groups = WORDS.groups_of(allergen)
    shared = set().union(*(WORDS.members_of(one) for one in groups)) if groups else set()
    return {allergen} | WORDS.members_of(allergen) | groups | shared


def containments(levels: list[Level]) -> st.SearchStrategy[Containment]:
    return st.tuples(st.sampled_from(levels), st.sampled_from(BASES)).map(lambda pair: Containment(*pair, SEEN))


@st.composite
def cases(draw: st.DrawFn) -> tuple[AllergenProfile, ReadPacket, Avoidance]:
    """A food's profile, a packet that was read of it, and what is avoided; mostly of allergens that belong together."""
    allergen = draw(st.sampled_from(IDS))
    near = st.sampled_from(sorted(kin_of(allergen))) | st.sampled_from(IDS)
    profile = AllergenProfile(
        draw(st.dictionaries(near, containments(LEVELS), max_size=4)),
        draw(st.sampled_from([UNKNOWN, Containment("free", "nature")])),
    )
    packet = ReadPacket(
        DAY,
        draw(st.dictionaries(near, containments(["contains", "may_contain", "unknown"]), max_size=3)),
        draw(st.dictionaries(near, st.sampled_from(TICKS), max_size=3)),
        draw(st.booleans()),
        draw(st.booleans()),
    )
    avoidance = Avoidance(allergen, draw(st.sampled_from(["contains", "may_contain"])))
    return profile, packet, avoidance


def graveness(profile: AllergenProfile, avoidance: Avoidance) -> tuple[bool, bool, bool]:
    """By what follows for the child: a warning that it may have is not graver than a label that nobody has read."""
    one = screen_food(WORDS, food("food", allergens=profile), avoidance)
    return one.do_not_pack, one.keeps_out, one.unread


@LAW
@given(cases())
def test_taking_a_packet_away_improves_only_what_it_named(
    case: tuple[AllergenProfile, ReadPacket, Avoidance],
) -> None:
    profile, packet, avoidance = case
    with_it, without = graveness(profile_read(profile, packet), avoidance), graveness(profile, avoidance)
    if without < with_it:
        named = set(packet.named) | {one for one, level in packet.ticked.items() if level != "free"}
        assert named & kin_of(avoidance.allergen)


@LAW
@given(cases())
def test_what_a_food_contains_by_its_nature_stays(case: tuple[AllergenProfile, ReadPacket, Avoidance]) -> None:
    profile, packet, avoidance = case
    by_nature = profile._replace(named={**profile.named, avoidance.allergen: Containment("contains", "nature")})
    assert graveness(profile_read(by_nature, packet), avoidance)[0]


@LAW
@given(cases())
def test_a_packet_that_was_not_read_in_full_clears_only_what_was_ticked(
    case: tuple[AllergenProfile, ReadPacket, Avoidance],
) -> None:
    profile, packet, avoidance = case
    half = packet._replace(complete=False, named={}, ticked={})
    assert graveness(profile_read(profile, half), avoidance) == graveness(profile, avoidance)
