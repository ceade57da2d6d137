"""Promise: the ingredients of a branded food raise allergens and clear none: what is not named is ``label_not_seen``, or unknown."""

from service.domain.allergens.screening import level_of
from service.domain.foods.branded import BrandedFood
from service.jobs.foods.branded.allergens import allergens_of
from service.reference.allergens.vocabulary import vocabulary


def level(allergen: str, ingredients: str | None, name: str = "BISCUITS") -> str:
    food = BrandedFood("04006381333931", 3, name, ingredients=ingredients)
    return level_of(vocabulary(), allergens_of(food), allergen).level


def test_what_is_named_is_contained_or_warned_of() -> None:
    text = "OATS, SUGAR, BUTTER (MILK), SALT. MAY CONTAIN PEANUTS."
    assert (level("milk", text), level("peanut", text), level("oats", text)) == ("contains", "may_contain", "contains")


def test_what_is_not_named_is_never_cleared() -> None:
    assert level("sesame", "OATS, SUGAR, BUTTER (MILK), SALT.") == "label_not_seen"
    assert level("egg", "OATS, SUGAR, BUTTER (MILK), SALT. FREE FROM EGG.") == "label_not_seen"


def test_without_a_list_everything_is_unknown() -> None:
    assert level("sesame", None) == "unknown"
    assert level("sesame", "XQZV BRTK WPLM, GHRT ZZKL VWXQ, PRTQ") == "unknown"


def test_the_name_is_read_too() -> None:
    assert level("peanut", None, "PEANUT BARS") == "contains"
    assert level("peanut", "OATS, SUGAR, SALT, SYRUP.", "PEANUT BARS") == "unknown"
    assert level("milk", "OATS, SUGAR, WHOLE MILK.", "MILK BARS") == "contains"


def test_no_level_is_ever_free() -> None:
    profile = allergens_of(
        BrandedFood("04006381333931", 3, "CRACKERS", ingredients="RICE FLOUR, SALT, SUNFLOWER OIL. EGG FREE.")
    )
    assert "free" not in {seen.level for seen in (*profile.named.values(), profile.others)}
