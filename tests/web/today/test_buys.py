"""A child that is to buy a meal: what the meal means for it is said where the day is looked at, with what to do."""

from datetime import date, timedelta

import pytest

from tests.web.kitchens import Kitchen


def buys(kitchen: Kitchen, child: str, on: date, menu: dict[str, str] | None) -> None:
    """Have a child buy on a day; ``menu``: the meal, where it is known."""
    body = {"date": on.isoformat(), "buys": [kitchen.children[child]], **({} if menu is None else {"menu": menu})}
    kitchen.keep("school_days", body)


@pytest.mark.parametrize(
    ("menu", "said"),
    [
        ({"name": "Peanut noodles"}, "Not for Linden: peanut. Pack a lunch, or ask for another meal."),
        (
            {"name": "Curry", "may_contain": "peanut"},
            "Not for Linden: peanut. Pack a lunch, or ask for another meal.",
        ),
        ({"name": "Curry"}, "It is not known whether peanut is in it. Ask the school's kitchen before Linden buys it."),
        (None, "It is not known what the meal is. Ask the school's kitchen before Linden buys it."),
    ],
)
def test_a_meal_that_is_not_known_to_be_right_has_no_tick(
    kitchen: Kitchen, on: date, menu: dict[str, str] | None, said: str
) -> None:
    buys(kitchen, "Linden", on, menu)
    page = kitchen.browser().get("/")
    assert said in page.text
    assert ("✕ buys today" if said.startswith("Not for") else "? buys today") in page.text
    assert "✓ buys today" not in page.text
    assert ("/bought", "Bought lunches") in page.links


@pytest.mark.parametrize(
    ("menu", "said", "mark"),
    [
        ({"name": "Peanut noodles"}, "Not for Linden: peanut. If it is not eaten yet, ask for another meal.", "✕"),
        ({"name": "Curry"}, "It is not known whether peanut is in it. If it is not eaten yet, ask", "?"),
        (None, "It is not known what the meal is. If it is not eaten yet, ask", "?"),
    ],
)
def test_a_meal_that_was_logged_is_looked_at_too(
    kitchen: Kitchen, on: date, menu: dict[str, str] | None, said: str, mark: str
) -> None:
    logged = {"child": kitchen.children["Linden"], "date": on.isoformat(), "kind": "bought"}
    kitchen.keep("lunches", logged | ({} if menu is None else {"menu": menu}))
    page = kitchen.browser().get("/")
    assert said in page.text
    assert f"{mark} bought at school" in page.text


def test_a_child_with_nothing_to_avoid_just_buys(kitchen: Kitchen, on: date) -> None:
    buys(kitchen, "Rowan", on, {"name": "Peanut noodles"})
    assert "✓ buys today" in kitchen.browser().get("/").text


def test_the_week_says_so_too(kitchen: Kitchen, on: date) -> None:
    monday = on + timedelta(days=35 - on.weekday())
    buys(kitchen, "Linden", monday, {"name": "Peanut noodles"})
    parent = kitchen.browser()
    week = f"{monday:%G-W%V}"
    for address in (f"/week?week={week}", f"/week/{kitchen.children['Linden']}?week={week}"):
        assert "✕ must not have: Peanut noodles" in parent.get(address).text, address
