"""Offers that differ in one group: what is counted of the new options alone, against a full count of each offer."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.foods.amounts import item_vector
from service.domain.lunch.compiling import compile_targets
from service.domain.offers.branches import KnownLists, branches
from service.domain.offers.changes import InOffer, offer_after
from service.domain.offers.counts import count_right
from service.domain.offers.offer import ChoiceGroup, Offer, Take, WithRule
from service.domain.offers.one_group import OneGroup
from service.domain.offers.rows import OfferItems
from service.reference.foods.catalogue import find_food
from service.reference.lunch.standards import standard

FOODS = {
    "mains": ("sandwich-cheese", "sandwich-ham", "egg-hard-boiled"),
    "fruit": ("orange", "banana", "apple"),
    "vegetables": ("broccoli-cooked", "peas-green-cooked", "carrots-baby-raw"),
    "drinks": ("milk-1-percent", "water"),
}
NEW = ("milk-skim", "grapes", "peas-green-cooked")
SCHOOL = standard("us-school-lunch")
TABLE = compile_targets(SCHOOL, SCHOOL.group("grades-k-5"), date(2026, 12, 1))


def items() -> OfferItems:
    """The foods of every group and those that may come in, in portions of 120 g."""
    keys = [(group, food) for group, foods in FOODS.items() for food in dict.fromkeys((*foods, *NEW))]
    foods = {key: find_food(key[1]) for key in keys}
    known = {key: food for key, food in foods.items() if food is not None}
    vectors = {
        key: item_vector(food, 120_000, food.credit_options[0] if food.credit_options else None)
        for key, food in known.items()
    }
    return OfferItems(vectors, known)


@st.composite
def offers(draw: st.DrawFn) -> Offer:
    takes = st.sampled_from([Take(1, 1), Take(0, 1), Take(1, 2), Take(2, 2, repeats=True)])
    groups = tuple(ChoiceGroup(name, foods, draw(takes)) for name, foods in FOODS.items())
    alternatives = draw(st.sampled_from([(), (("fruit", "vegetables"),)]))
    rules = draw(
        st.lists(
            st.sampled_from(
                [
                    WithRule("mains", "egg-hard-boiled", "drinks", Take(2, 2)),
                    WithRule("mains", "sandwich-ham", "drinks", Take(0, 1)),
                    WithRule("drinks", "water", "mains", Take(1, 2)),
                ]
            ),
            unique=True,
            max_size=2,
        )
    )
    return Offer(groups, alternatives, tuple(rules))


def changes(offer: Offer, group: ChoiceGroup) -> list[InOffer]:
    """Every change within a group: an item removed, another in its place, one more, one more taken."""
    new = [food for food in NEW if food not in group.items]
    return [
        *(InOffer(group.id, key) for key in group.items),
        *(InOffer(group.id, key, food) for key in group.items for food in new),
        *(InOffer(group.id, None, food) for food in new),
        InOffer(group.id, take=Take(group.take.at_least, group.take.at_most + 1, group.take.repeats)),
    ]


@pytest.mark.property
@settings(deadline=None, max_examples=25)
@given(offers(), st.sampled_from(list(FOODS)))
def test_changed_offers_are_counted_as_if_each_were_counted_in_full(offer: Offer, name: str) -> None:
    of, known = items(), KnownLists()
    now = count_right(TABLE, branches(offer, known), of)
    group = offer.group(name)
    one = OneGroup(TABLE, of, offer, name, known)
    changed = [offer_after(offer, where) for where in changes(offer, group)]
    places = [one.add(other) for other in changed]
    for other, place, found in zip(changed, places, one.counted(places, now), strict=True):
        full = count_right(TABLE, branches(other), of)
        assert (found.total, found.right) == (full.total, full.right)
        # So few lunches are all looked at, so that what is expected is exact.
        assert one.share(place) == pytest.approx(found.share())
        assert one.work(place) <= full.total
        changed_group = other.group(name)
        if changed_group.take == Take(1, 1) and other.stands_alone(name):
            with_each = one.share_with_each(place)
            mean = sum(with_each[(name, key)] for key in changed_group.items) / len(changed_group.items)
            assert mean == pytest.approx(found.share())
    in_steps = OneGroup(TABLE, of, offer, name, known)
    for other, place in zip(changed, places, strict=True):
        assert in_steps.share(in_steps.add(other)) == one.share(place)  # whether or not it was looked at in between


@pytest.mark.property
@settings(deadline=None, max_examples=15)
@given(offers())
def test_what_a_new_rule_lets_expect_is_its_full_count(offer: Offer) -> None:
    """With an item of another group, both drinks: exact too where all lunches are looked at."""
    plain = Offer(offer.groups)
    of, known = items(), KnownLists()
    one = OneGroup(TABLE, of, plain, "drinks", known)
    one.add(plain)
    more = Take(2, 2, plain.group("drinks").take.repeats)
    one.add(offer_after(plain, InOffer("drinks", take=more)))
    for key in FOODS["mains"]:
        ruled = offer_after(plain, InOffer("drinks", key, take=more, with_group="mains"))
        options = branches(offer_after(plain, InOffer("drinks", take=more)))[0].lists[3]
        full = count_right(TABLE, branches(ruled), of)
        assert one.share_with(("mains", key), options) == pytest.approx(full.right / full.total)
