"""A child's dislikes among the items of an offer: foods by themselves, and dishes for what is in them."""

from typing import Any

import pytest

from service.jobs.household.requests import KeptChild
from service.jobs.household.stored.dislikes import disliked, offered_by
from service.jobs.offers.requests import OfferIn

OFFER = OfferIn.model_validate(
    {
        "groups": [
            {
                "id": "main",
                "items": [
                    {"food": "sandwich-ham"},
                    {"food": "sandwich-peanut-butter-jam"},
                    {"food": {"name": "stew", "ingredients": [{"food": "carrots-cooked", "grams": 50}, {"food": "beans-black-cooked", "grams": 80}]}},
                    {"food": {"name": "bar", "serving": {"grams": 30}, "ingredients": "oats, raisins"}},
                ],
            },
            {"id": "side", "items": [{"food": "carrots-raw"}, {"food": "apple"}]},
        ]
    }
)  # fmt: skip


def child(*dislikes: str, **more: Any) -> KeptChild:
    record = {"nickname": "Juniper", "standard": "us-school-lunch", "birth_month": "2018-03", "dislikes": dislikes}
    return KeptChild.model_validate({**record, "dislikes": list(dislikes), **more})


@pytest.mark.parametrize(
    ("dislike", "everywhere", "by_itself"),
    [
        ("carrot", ["stew", "carrots-raw"], ["carrots-raw"]),
        ("ham", ["sandwich-ham"], ["sandwich-ham"]),  # it is in the name too
        ("ham-sliced", ["sandwich-ham"], []),
        ("jam", ["sandwich-peanut-butter-jam"], ["sandwich-peanut-butter-jam"]),
        ("black beans", ["stew"], []),
        ("apple", ["apple"], ["apple"]),
        ("raisins", [], []),  # a label is not a dish: what is in it is not taken apart
    ],
)
def test_dislikes_look_inside_dishes_and_can_be_told_not_to(
    dislike: str, everywhere: list[str], by_itself: list[str]
) -> None:
    offered = offered_by(OFFER)
    assert [one["item"] for one in disliked(child(dislike), offered)] == everywhere
    only = disliked(child(dislike, dislikes_in_dishes=False), offered)
    assert [one["item"] for one in only] == by_itself


@pytest.mark.parametrize(
    ("dislike", "food"),
    [
        ("strawberry", "strawberries-frozen"),
        ("strawberries", "jam"),
        ("potatoes", "potato-chips"),
        ("mushrooms", "soup-mushroom"),
        ("cookies", "cookie-oatmeal"),
        ("peas", "soup-split-pea"),
        ("courgettes", "zucchini-raw"),
        ("chick peas", "hummus-homemade"),
    ],
)
def test_one_or_many_and_another_countrys_word_mean_the_same_food(dislike: str, food: str) -> None:
    offer = OfferIn.model_validate({"groups": [{"id": "a", "items": [{"food": food}, {"food": "pear"}]}]})
    assert [one["item"] for one in disliked(child(dislike), offered_by(offer))] == [food]


def test_an_own_food_is_disliked_by_its_id() -> None:
    kept = "01900000-0000-7000-8000-000000000001"
    bar = {"name": "bar", "serving": {"grams": 30}, "ingredients": "oats"}
    offer = OfferIn.model_validate({"groups": [{"id": "a", "items": [{"food": bar}, {"food": "pear"}]}]})
    own = offer.groups[0].items[0]
    own.food = own.food.model_copy(update={"id": kept})  # type: ignore[union-attr]
    assert len(disliked(child(kept), offered_by(offer))) == 1
