"""Too few portions of what is set out: said to the parents with how many, and to a child where none is left."""

from datetime import date, timedelta

import pytest

from tests.web.kitchens import Browser, Kitchen

SANDWICH, APPLE, PEAR = "sandwich-peanut-butter", "apple", "pear"


@pytest.fixture
def morning(small_kitchen: Kitchen, on: date) -> str:
    """A fruit and a sandwich set out today."""
    groups = [
        {"id": "main", "items": [{"food": SANDWICH}]},
        {"id": "fruit", "items": [{"food": APPLE}, {"food": PEAR}]},
    ]
    offer = small_kitchen.keep("offers", {"name": "mornings", "groups": groups})
    small_kitchen.set_out("mornings", on)
    return offer


def keep(kitchen: Kitchen, food: str, portions: float, on: date) -> str:
    """An entry of a food, of today."""
    return kitchen.keep("stock", {"food": food, "place": "fridge", "portions": portions, "made_on": on.isoformat()})


def use_up(browser: Browser, entry: str) -> None:
    """Take all that there is of an entry."""
    browser.send(browser.get(f"/stock/{entry}"), f"/stock/{entry}/happened", event="taken", portions="")


def test_enough_for_all_and_food_that_is_not_counted_are_not_spoken_of(
    small_kitchen: Kitchen, morning: str, on: date
) -> None:
    keep(small_kitchen, SANDWICH, 30, on)
    browser = small_kitchen.browser()
    for path in ("/", f"/set-out/{morning}"):
        assert " left for " not in browser.get(path).text


def test_too_few_for_the_days_of_the_week_is_said_with_how_many_and_until_when(
    small_kitchen: Kitchen, morning: str, on: date
) -> None:
    monday = on + timedelta(7 - on.weekday())
    for day in range(3):
        small_kitchen.set_out("mornings", monday + timedelta(day))
    keep(small_kitchen, SANDWICH, 2, on)
    (ash,) = small_kitchen.children.values()
    browser = small_kitchen.browser()
    small_kitchen.keep("lunches", {"child": ash, "date": on.isoformat(), "kind": "none"})
    assert " left for " not in browser.get(f"/set-out/{morning}").text  # of this week nothing is wanted any more
    wednesday = (monday + timedelta(2)).isoformat()
    later = browser.get(f"/?day={monday}").text
    assert "2 portions left for 1 child until" in later
    assert str(int(wednesday[-2:])) in later.split("2 portions left for 1 child until")[1][:30]


def test_where_none_is_left_the_parents_are_told_what_to_do_and_the_child_why_it_is_off(
    small_kitchen: Kitchen, morning: str, on: date
) -> None:
    entry = keep(small_kitchen, APPLE, 1, on)
    parent = small_kitchen.browser()
    use_up(parent, entry)
    for path in ("/", f"/set-out/{morning}"):
        text = parent.get(path).text
        assert "none left for 1 child until" in text
        assert "Make or buy more, or count it anew." in text
    (ash,) = small_kitchen.children.values()
    page = small_kitchen.browser("take", ash).get(f"/take/{ash}")
    assert "None left." in page.text
    usable = {value: on for name, value, _text, on in page.form(f"/take/{ash}").buttons if name == "tap"}
    assert usable == {"main~" + SANDWICH: True, "fruit~" + APPLE: False, "fruit~" + PEAR: True}
    swapped = small_kitchen.browser("take", ash).get(f"/take/{ash}?take=fruit~{PEAR}")
    off = {value for name, value, _text, on in swapped.form(f"/take/{ash}").buttons if name == "tap" and not on}
    assert "fruit~" + APPLE in off


def test_a_child_is_not_left_without_a_lunch_by_a_stock_that_was_not_counted(
    small_kitchen: Kitchen, morning: str, on: date
) -> None:
    use_up(small_kitchen.browser(), keep(small_kitchen, SANDWICH, 1, on))
    (ash,) = small_kitchen.children.values()
    page = small_kitchen.browser("take", ash).get(f"/take/{ash}")
    assert all(on for name, _value, _text, on in page.form(f"/take/{ash}").buttons if name == "tap")
    assert "none left for 1 child until" in small_kitchen.browser().get(f"/set-out/{morning}").text


@pytest.fixture
def apple_twice(small_kitchen: Kitchen, on: date) -> str:
    """Apples for lunch and for the snack, each beside pears."""
    either = [{"food": APPLE}, {"food": PEAR}]
    offer = small_kitchen.keep(
        "offers", {"name": "mornings", "groups": [{"id": "fruit", "items": either}, {"id": "snack", "items": either}]}
    )
    small_kitchen.set_out("mornings", on)
    return offer


def test_a_food_in_two_groups_is_counted_for_both_of_them_together(
    small_kitchen: Kitchen, apple_twice: str, on: date
) -> None:
    """One apple is enough for either group, not for both; two are."""
    keep(small_kitchen, APPLE, 1, on)
    parent = small_kitchen.browser()
    for path in ("/", f"/set-out/{apple_twice}"):
        text = parent.get(path).text
        assert "1 portion left for 1 child until" in text
        assert "It is in 2 groups, so each child may take it more than once." in text
    keep(small_kitchen, APPLE, 1, on)
    for path in ("/", f"/set-out/{apple_twice}"):
        assert " left for " not in parent.get(path).text


def test_a_child_that_took_the_last_one_from_a_group_cannot_take_it_from_another(
    small_kitchen: Kitchen, apple_twice: str, on: date
) -> None:
    keep(small_kitchen, APPLE, 1, on)
    (ash,) = small_kitchen.children.values()
    browser = small_kitchen.browser("take", ash)

    def usable(query: str) -> set[str]:
        page = browser.get(f"/take/{ash}{query}")
        return {value for name, value, _text, on in page.form(f"/take/{ash}").buttons if name == "tap" and on}

    both = {f"{group}~{food}" for group in ("fruit", "snack") for food in (APPLE, PEAR)}
    assert usable("") == both
    assert f"snack~{APPLE}" not in usable(f"?take=fruit~{APPLE}")
    assert f"snack~{PEAR}" in usable(f"?take=fruit~{APPLE}")
    assert f"snack~{APPLE}" in usable(f"?take=fruit~{PEAR}")
    assert f"snack~{APPLE}" not in usable(f"?take=fruit~{APPLE}&take=snack~{APPLE}")
    keep(small_kitchen, APPLE, 1, on)
    assert f"snack~{APPLE}" in usable(f"?take=fruit~{APPLE}")


@pytest.fixture
def fruit_again(small_kitchen: Kitchen, on: date) -> str:
    """With the sandwich two pieces of fruit are taken, two of the same too."""
    twice = {"at_least": 2, "at_most": 2, "repeats": True}
    groups = [
        {"id": "main", "items": [{"food": SANDWICH}]},
        {"id": "fruit", "items": [{"food": APPLE}, {"food": PEAR}], "take": {"at_least": 1, "at_most": 1}},
    ]
    rule = {"group": "main", "item": SANDWICH, "then_group": "fruit", "take": twice}
    offer = small_kitchen.keep("offers", {"name": "mornings", "groups": groups, "rules": [rule]})
    small_kitchen.set_out("mornings", on)
    return offer


def test_a_food_that_may_be_taken_again_is_counted_as_often_as_it_may_be_taken(
    small_kitchen: Kitchen, fruit_again: str, on: date
) -> None:
    """One apple is too few for a child that may take two of them; two are enough."""
    keep(small_kitchen, APPLE, 1, on)
    parent = small_kitchen.browser()
    for path in ("/", f"/set-out/{fruit_again}"):
        text = parent.get(path).text
        assert "1 portion left for 1 child until" in text
        assert "Each child may take it more than once." in text
    keep(small_kitchen, APPLE, 1, on)
    for path in ("/", f"/set-out/{fruit_again}"):
        assert " left for " not in parent.get(path).text


def test_a_child_cannot_take_the_last_one_a_second_time(small_kitchen: Kitchen, fruit_again: str, on: date) -> None:
    """One apple: a lunch with two is neither offered nor logged. Two apples: it is."""
    keep(small_kitchen, APPLE, 1, on)
    (ash,) = small_kitchen.children.values()
    child = small_kitchen.browser("take", ash)
    one_apple = f"/take/{ash}?take=main~{SANDWICH}&take=fruit~{APPLE}"
    assert "You can finish now." not in child.get(one_apple + f"&take=fruit~{APPLE}").text
    assert "You can finish now." in child.get(one_apple + f"&take=fruit~{PEAR}").text
    keep(small_kitchen, APPLE, 1, on)
    assert "You can finish now." in child.get(one_apple + f"&take=fruit~{APPLE}").text
