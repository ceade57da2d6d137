"""Promise: a food cooked without salt says so, and stands beside the one cooked in salted water.

Source of the salted figures: USDA survey foods 2021-23, sodium per 100 g, with salted water.
"""

import pytest

from service.domain.measures import MEASURE_INDEX
from service.reference.foods.catalogue import find_food

SODIUM = MEASURE_INDEX["sodium_mg"]
SALTED = [
    ("pasta-cooked", 232),
    ("rice-white-cooked", 245),
    ("rice-brown-cooked", 201),
    ("couscous-cooked", 189),
    ("beans-black-cooked", 232),
    ("lentils-cooked", 233),
    ("green-beans-cooked", 121),
    ("peas-green-cooked", 188),
    ("carrots-cooked", 211),
]


def sodium(food_id: str) -> float:
    """Milligrams in 100 g."""
    food = find_food(food_id)
    assert food is not None
    value = food.nutrients[SODIUM]
    assert value is not None
    return float(value * 100_000 / food.basis_mg / 1000)


@pytest.mark.parametrize(("food_id", "survey"), SALTED)
def test_both_kinds_are_there_and_their_names_say_which(food_id: str, survey: int) -> None:
    plain, salted = find_food(food_id), find_food(food_id + "-salted")
    assert plain is not None
    assert salted is not None
    assert "no salt" in plain.name
    assert "salted water" in salted.name
    assert sodium(food_id) < 75
    assert 100 < sodium(food_id + "-salted") < survey * 2.1
    assert repr(salted.credit_options) == repr(plain.credit_options)


@pytest.mark.parametrize(
    ("food_id", "milligrams"),
    [("beans-refried", 370), ("ham-sliced", 890), ("turkey-breast-sliced", 810)],
)
def test_the_ordinary_product_is_meant(food_id: str, milligrams: int) -> None:
    """SR28 16103; USDA survey foods 2021-23 for the deli meats."""
    assert sodium(food_id) == pytest.approx(milligrams, abs=1)


def test_bean_chili_holds_no_beef() -> None:
    chili = find_food("chili-rice-flask")
    assert chili is not None
    beef = chili.allergens.named.get("beef")
    assert beef is None or beef.level != "contains"


@pytest.mark.parametrize(
    "food_id", ["beans-black-eyed-cooked", "beans-lima-cooked", "parsnip-cooked", "swede-cooked", "potato-boiled"]
)
def test_every_food_boiled_without_salt_has_a_salted_twin(food_id: str) -> None:
    """SR28 adds 236 to 249 mg of sodium to 100 g of what it boils with salt."""
    plain, salted = find_food(food_id), find_food(food_id + "-salted")
    assert plain is not None
    assert salted is not None
    assert "no salt" in plain.name
    assert "salted water" in salted.name
    assert sodium(food_id + "-salted") - sodium(food_id) == pytest.approx(236, abs=20)
