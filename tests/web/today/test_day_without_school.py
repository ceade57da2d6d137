"""On a day without school the first page tells so, and what the next day with school needs."""

from datetime import date, timedelta
from typing import Any

import pytest

from service.jobs.household.plan import of_day
from service.jobs.household.weeks import family_day
from service.store.household.records import page
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


def kept_plan(kitchen: Kitchen, days: list[date], set_out_on: date | None = None) -> str:
    """A stored plan of some school days; ``set_out_on``: the day on which it was set out."""
    asked = {
        "days": [one.isoformat() for one in days],
        "children": [kitchen.children["Wren"]],
        "offers": [{"id": "all", "offer": {"groups": [{"id": "fruit", "items": [{"food": "apple"}]}]}}],
    }
    return kitchen.keep(
        "plans",
        {
            "name": f"{days[0]} to {days[-1]}, {len(days)}",
            "asked": asked,
            "set_out_on": set_out_on and set_out_on.isoformat(),
        },
    )


def test_a_holiday_of_the_plan_in_force_is_a_day_without_school(new_kitchen: Kitchen, on: date) -> None:
    """A plan has neither Tuesday nor Wednesday; on Tuesday Thursday is prepared for. A plan that was not set out says nothing; what was set out later counts, and what is set out on a day."""
    monday = saturday_after(on) + timedelta(2)
    tuesday, wednesday, thursday = (monday + timedelta(number) for number in (1, 2, 3))
    child = {"nickname": "Wren", "standard": "us-school-lunch", "age_group": "grades-k-5"}
    new_kitchen.children["Wren"] = new_kitchen.keep("children", child)
    new_kitchen.keep("offers", {"name": USUAL, "groups": [{"id": "fruit", "items": [{"food": "apple"}]}]})
    browser = new_kitchen.browser("keep")
    assert "No school today." not in browser.get(f"/?day={tuesday}").text
    kept_plan(new_kitchen, [monday, thursday])
    assert "No school today." not in browser.get(f"/?day={tuesday}").text
    kept_plan(new_kitchen, [monday, thursday, monday + timedelta(4)], on)
    page = browser.get(f"/?day={tuesday}")
    assert "No school today." in page.text
    assert f"For Thu {thursday.day} " in page.text
    assert "not yet" not in page.text
    for day in (monday, thursday, monday - timedelta(3), monday + timedelta(7)):
        assert "No school today." not in browser.get(f"/?day={day}").text
    new_kitchen.set_out(USUAL, wednesday)
    assert "No school today." not in browser.get(f"/?day={wednesday}").text
    assert f"For Wed {wednesday.day} " in browser.get(f"/?day={tuesday}").text
    kept_plan(new_kitchen, [monday, tuesday, wednesday, thursday], on - timedelta(1))
    assert "No school today." in browser.get(f"/?day={tuesday}").text
    kept_plan(new_kitchen, [monday, tuesday], on)
    assert "No school today." not in browser.get(f"/?day={tuesday}").text


def test_plans_are_read_once_for_the_page(kitchen: Kitchen, on: date, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also on a day without school, with what the next one needs."""
    read: list[str] = []

    def counted(connection: Any, kind: Any, *more: Any) -> Any:
        read.append(kind.noun)
        return page(connection, kind, *more)

    for module in (of_day, family_day):
        monkeypatch.setattr(module, "page", counted)
    browser = kitchen.browser("keep")
    read.clear()
    assert "No school today." in browser.get(f"/?day={saturday_after(on)}").text
    assert read.count("plan") == 1
