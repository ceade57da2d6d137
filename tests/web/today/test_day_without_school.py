"""On a day without school the first page tells so, and what the next day with school needs."""

from datetime import date, timedelta

from tests.web.kitchens import Kitchen

USUAL = "usual mornings"


def saturday_after(on: date) -> date:
    """A Saturday weeks ahead, of which nothing is stored."""
    return on + timedelta(days=(5 - on.weekday()) % 7 + 35)


def test_no_child_is_waited_for_on_a_saturday(kitchen: Kitchen, on: date) -> None:
    saturday = saturday_after(on)
    page = kitchen.browser("keep").get(f"/?day={saturday}")
    assert "No school today." in page.text
    assert f"For Mon {(saturday + timedelta(2)).day} " in page.text
    assert "not yet" not in page.text
    assert "Set out what the children may take" in page.text


def test_the_friday_before_is_a_day_like_others(kitchen: Kitchen, on: date) -> None:
    page = kitchen.browser("keep").get(f"/?day={saturday_after(on) - timedelta(1)}")
    assert "No school today." not in page.text
    assert "not yet" in page.text


def test_what_is_set_out_on_monday_is_told_on_sunday(kitchen: Kitchen, on: date) -> None:
    sunday = saturday_after(on) + timedelta(1)
    kitchen.set_out(USUAL, sunday + timedelta(1))
    page = kitchen.browser("keep").get(f"/?day={sunday}")
    assert f"Set out: {USUAL}" in page.text
    assert "cold packs" not in page.text


def test_a_saturday_with_something_set_out_is_a_school_day(kitchen: Kitchen, on: date) -> None:
    saturday = saturday_after(on)
    kitchen.set_out(USUAL, saturday)
    page = kitchen.browser("keep").get(f"/?day={saturday}")
    assert "No school today." not in page.text
    assert "not yet" in page.text


def test_it_is_said_in_spanish(kitchen: Kitchen, on: date) -> None:
    browser = kitchen.browser("keep")
    answer = browser.client.get(f"/?day={saturday_after(on)}", headers={"Accept": "text/html", "Accept-Language": "es"})
    assert "Hoy no hay escuela." in answer.text


def kept_plan(kitchen: Kitchen, days: list[date]) -> str:
    """A stored plan of some school days."""
    asked = {
        "days": [one.isoformat() for one in days],
        "children": [kitchen.children["Wren"]],
        "offers": [{"id": "all", "offer": {"groups": [{"id": "fruit", "items": [{"food": "apple"}]}]}}],
    }
    return kitchen.keep("plans", {"name": f"{days[0]} to {days[-1]}", "asked": asked})


def test_a_holiday_of_the_newest_plan_is_a_day_without_school(new_kitchen: Kitchen, on: date) -> None:
    """A plan has neither Tuesday nor Wednesday; on Tuesday Thursday is prepared for. What a newer plan says counts, and what is set out."""
    monday = saturday_after(on) + timedelta(2)
    tuesday, wednesday, thursday = (monday + timedelta(number) for number in (1, 2, 3))
    child = {"nickname": "Wren", "standard": "us-school-lunch", "age_group": "grades-k-5"}
    new_kitchen.children["Wren"] = new_kitchen.keep("children", child)
    new_kitchen.keep("offers", {"name": USUAL, "groups": [{"id": "fruit", "items": [{"food": "apple"}]}]})
    browser = new_kitchen.browser("keep")
    assert "No school today." not in browser.get(f"/?day={tuesday}").text
    kept_plan(new_kitchen, [monday, thursday])
    page = browser.get(f"/?day={tuesday}")
    assert "No school today." in page.text
    assert f"For Thu {thursday.day} " in page.text
    assert "not yet" not in page.text
    for day in (monday, thursday, monday - timedelta(3), monday + timedelta(4)):
        assert "No school today." not in browser.get(f"/?day={day}").text
    new_kitchen.set_out(USUAL, wednesday)
    assert "No school today." not in browser.get(f"/?day={wednesday}").text
    assert f"For Wed {wednesday.day} " in browser.get(f"/?day={tuesday}").text
    kept_plan(new_kitchen, [monday, tuesday])
    assert "No school today." not in browser.get(f"/?day={tuesday}").text
