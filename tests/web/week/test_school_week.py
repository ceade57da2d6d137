"""Promise: a school week of three children on two devices is set out, taken, bought and undone, and its page adds up.

On SQLite and on PostgreSQL; with taps in a real browser: ``tests/browser/test_school_week.py``.
"""

import re
from datetime import date, timedelta
from decimal import Decimal
from urllib.parse import urlencode

from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.reading import Page

MEAL = "Bean chili with rice"
CARD = re.compile(r'<section class="card".*?</section>', re.DOTALL)
HALF_A_CENT = Decimal("0.005")
"""By so much each amount is rounded, and so is their sum."""
AMOUNT = re.compile(r"\$(\d+\.\d\d)")


def taken(browser: Browser, child: str, day: date) -> Page:
    """The page after the first possible tile of each group was tapped."""
    there = browser.get(f"/take/{child}?day={day}")
    while True:
        form = there.form(f"/take/{child}")
        groups = {value.split("~")[0] for name, value in form.fields if name == "take"}
        free = [value for _name, value, _text, on in form.buttons if on and value.split("~")[0] not in groups]
        if not free:
            return there
        there = browser.get(f"/take/{child}?{urlencode([*form.fields, ('tap', free[0])])}")


def finished(browser: Browser, page: Page) -> None:
    """Done, sent twice, as a bad network has it."""
    finish = next(one for one in page.forms if one.method == "post" and one.action.startswith("/take/"))
    for _twice in range(2):
        browser.last = browser.client.post(finish.action, data=finish.data(), headers=OURS)
        assert browser.last.status_code == 200, browser.last.text[-500:]


def test_a_school_week_of_three_children_adds_up(kitchen: Kitchen, on: date) -> None:
    offer = kitchen.set_out("usual mornings", on)
    monday = on + timedelta(7 - on.weekday())
    days = [monday + timedelta(number) for number in range(5)]
    year, number, _day = monday.isocalendar()
    week = f"{year}-W{number:02}"
    tablet, phone = kitchen.browser(), kitchen.browser()

    tablet.send(tablet.get(f"/set-out/{offer}"), f"/set-out/{offer}/days", day=[on.isoformat(), *map(str, days)])
    bought = (kitchen.children["Rowan"], days[2])
    menu = tablet.get(f"/bought?week={week}")
    tablet.send(menu, "/bought", **{f"name-{days[2]}": MEAL, f"buys-{days[2]}": [bought[0]]})
    assert f"Buys at school, not logged yet: {MEAL}" in tablet.get(f"/week?week={week}").text

    for day in days:
        for child in kitchen.children.values():
            if (child, day) != bought:
                finished(phone, taken(phone, child, day))
    undone = (kitchen.children["Linden"], days[4])
    assert kitchen.lunch(*undone) is not None
    phone.send(phone.get(f"/take/{undone[0]}?day={undone[1]}"), f"/take/{undone[0]}/undo")
    assert kitchen.lunch(*undone) is None
    finished(phone, taken(phone, *undone))
    phone.send(phone.get(f"/week/{bought[0]}/{bought[1]}"), f"/week/{bought[0]}/{bought[1]}", "Save", kind="bought")

    shown = tablet.get(f"/week?week={week}")
    assert "ot logged" not in shown.text
    cards = {
        name: next(one for one in CARD.findall(shown.html) if f">{name}<" in one or f">\u2068{name}\u2069<" in one)
        for name in kitchen.children
    }
    costs: list[Decimal] = []
    for name, child in kitchen.children.items():
        kinds = [(kitchen.lunch(child, day) or {"kind": "lost"})["kind"] for day in days]
        assert sorted(kinds) == (["bought", *["packed"] * 4] if child == bought[0] else ["packed"] * 5)
        text = Page(cards[name]).text
        assert f"{kinds.count('packed')} packed lunches: " in text
        assert ("1 bought lunch: " in text) == (child == bought[0])
        costs += map(Decimal, AMOUNT.findall(text))
    said = shown.text.partition("All children together")[2]
    assert abs(Decimal(AMOUNT.findall(said)[0]) - sum(costs)) <= HALF_A_CENT * (len(costs) + 1)
    assert sum(costs) > 0
