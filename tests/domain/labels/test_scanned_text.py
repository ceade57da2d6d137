"""Labels as a scanner or a camera reads them: digits for letters, letters run into each other, words cut in two."""

import pytest

from tests.domain.labels.label_reading import everything, hard


@pytest.mark.parametrize(
    ("printed", "allergen"),
    [
        ("m1lk powder", "milk"),
        ("rnilk", "milk"),
        ("s0ya flour", "soy"),
        ("0ats", "oats"),
        ("e99s", "egg"),
        ("f1sh", "fish"),
        ("5esame", "sesame"),
        ("a1monds", "almond"),
        ("alrnonds", "almond"),
        ("cashevvs", "cashew"),
        ("rnustard", "mustard"),
        ("shrirnp", "shrimp"),
        ("metabisul- fite", "sulphite"),
        ("crus-\ntaceans", "crustacean"),
        ("8utter", "milk"),
        ("cre@m", "milk"),
        ("$oya", "soy"),
        ("m i l k", "milk"),
        ("preservative E.223", "sulphite"),
    ],
)
def test_a_word_that_was_read_wrongly_is_found(printed, allergen):
    assert allergen in hard(f"sugar, {printed}, salt")


@pytest.mark.parametrize(
    "printed", ["vitamin b12", "corn", "vitamin b1", "e150d", "omega 3", "carnauba wax", "gluten-free 100g"]
)
def test_other_digits_and_letters_are_left_alone(printed):
    assert hard(f"sugar, {printed}, salt") <= {"maize"}


@pytest.mark.parametrize("second", ["milk", "cream", "butter"])
def test_a_hyphen_that_opens_an_item_joins_nothing(second):
    assert "milk" in hard(f"Sugar\n- {second}")


@pytest.mark.parametrize(
    ("printed", "allergens"),
    [
        ("skimmedmilkpowder", {"milk"}),
        ("unsaltedpeanutpieces", {"peanut"}),
        ("fantasticalmondzest", {"almond"}),
        ("ha7elnuts", {"hazelnut"}),
    ],
)
def test_an_allergen_within_a_long_run_of_letters_is_raised(printed, allergens):
    assert allergens <= everything(f"sugar, {printed}, salt")
