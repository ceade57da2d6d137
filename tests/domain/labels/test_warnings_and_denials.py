"""What warns and what denies: in doubt nothing is denied, and nobody is told less than the label says."""

import pytest

from tests.domain.labels.label_reading import everything, hard, reading, warned


@pytest.mark.parametrize(
    ("text", "allergen"),
    [
        ("We cannot guarantee that this product is nut free.", "tree_nut"),
        ("Cannot be guaranteed peanut-free.", "peanut"),
        ("This product is not nut free.", "tree_nut"),
        ("Not suitable for a nut-free diet.", "tree_nut"),
        ("This is not a dairy-free product.", "milk"),
        ("Unsuitable for people with peanut allergy.", "peanut"),
        ("Possible traces: milk.", "milk"),
        ("Peanuts and tree nuts are handled in the same facility.", "peanut"),
        ("Milk may be present.", "milk"),
        ("May be present: milk.", "milk"),
        ("Packed in an environment where peanuts are used.", "peanut"),
        ("Kann Spuren von Milch enthalten.", "milk"),
        ("Peut contenir des traces de lait.", "milk"),
        ("May contain: cereals containing gluten.", "gluten_cereal"),
    ],
)
def test_a_warning_is_a_warning(text, allergen):
    assert allergen in warned(f"Rice, salt. {text}")
    assert allergen not in hard(f"Rice, salt. {text}")


@pytest.mark.parametrize(
    ("text", "allergens"),
    [
        ("No artificial flavors or colors, milk, eggs, wheat.", {"milk", "egg", "wheat"}),
        ("Free from preservatives and artificial colours, milk, egg", {"milk", "egg"}),
        ("Made in our kitchen with milk, eggs and flour", {"milk", "egg", "wheat"}),
        ("Cod may contain small bones, milk, flour", {"cod", "milk", "wheat"}),
        ("Rice, may contain nuts, milk, wheat flour, sugar", {"milk", "wheat"}),
        ("Rice. Contains: cereals containing gluten, milk.", {"gluten_cereal", "milk"}),
        ("Free from nuts\nmilk\nsugar", {"milk"}),
    ],
)
def test_ingredients_stay_ingredients(text, allergens):
    assert allergens <= hard(text)


@pytest.mark.parametrize(
    "text",
    [
        "Allergy advice: for allergens, including cereals containing gluten, see ingredients in bold.",
        "Ne contient pas de lait.",
        "Suitable for people with nut allergy.",
        "Suitable for coeliacs.",
        "Free from milk, egg and nuts.",
        "No added sugar or milk.",
        "Made in a nut-free facility.",
    ],
)
def test_what_is_denied_or_only_mentioned_raises_nothing(text):
    assert everything(f"Rice, salt. {text}") == set()


def test_coeliacs_are_a_reason_to_read_the_label():
    assert "gluten_cereal" in reading("Rice. Not suitable for coeliacs.").check_label


def test_a_warning_alone_is_no_list_of_ingredients():
    assert not reading("May contain nuts.").readable
    assert reading("Nuts").readable
