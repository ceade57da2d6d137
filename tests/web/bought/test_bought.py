"""Bought lunches: a menu typed or from a table, who buys, what it means for a child, and packed against bought."""

from datetime import date, timedelta
from typing import Any

import pytest

from service.domain.errors import LunchError
from service.jobs.household.days.school_days import school_day_of
from service.jobs.household.days.school_menu import COLUMNS, read_menu
from service.jobs.household.kinds import PRICES
from service.jobs.weeks.requests import monday_of, week_of
from service.reference.fault_words import fault_sentence
from service.store.household.records import page as page_of
from service.web.label_figures import OTHER_UNITS
from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.reading import Page


@pytest.fixture
def monday(on: date) -> date:
    """The Monday of the week to come, whose days are set out and hold no menu."""
    return monday_of(week_of(on)) + timedelta(days=7)


def there(kitchen: Kitchen, day: date) -> dict[str, Any] | None:
    """What is stored of a school day."""
    with kitchen.store.reading() as connection:
        found = school_day_of(connection, kitchen.id, day)
    return None if found is None else found.body


def read(table: str) -> Any:
    """The days of a table as (day, name)."""
    return [(one.on.isoformat(), one.menu.name) for one in read_menu(table)]


def faults(table: str) -> list[str]:
    """What is said of a table that cannot be read."""
    with pytest.raises(LunchError) as refused:
        read_menu(table)
    return [fault_sentence(one) for one in refused.value.faults()]


def send_table(browser: Browser, monday: date, table: str, status: int = 200) -> Page:
    """The page after a table was pasted."""
    return browser.send(browser.get(f"/bought?week={week_of(monday)}"), "/bought/table", status=status, table=table)


def test_two_weeks_are_typed_at_once_and_what_is_set_out_stays(kitchen: Kitchen, monday: date) -> None:
    browser, rowan = kitchen.browser(), kitchen.children["Rowan"]
    before = there(kitchen, monday)
    assert before is not None
    page = browser.get(f"/bought?week={week_of(monday)}")
    later = monday + timedelta(days=8)
    typed = {f"name-{monday}": "Pie & peas", f"buys-{monday}": [rowan], f"name-{later}": "Soup"}
    after = browser.send(page, "/bought", **typed)
    now = there(kitchen, monday)
    assert now is not None
    assert (now["menu"]["name"], now["buys"], now["offer"]) == ("Pie & peas", [rowan], before["offer"])
    assert (there(kitchen, later) or {"menu": None})["menu"] is not None
    assert "Pie &amp; peas" in after.html
    browser.send(after, "/bought", **{f"name-{monday}": "", f"buys-{monday}": []})
    emptied = there(kitchen, monday)
    assert emptied is not None
    assert (emptied["menu"], emptied["buys"], emptied["offer"]) == (None, [], before["offer"])


def test_a_name_that_cannot_be_one_is_said_at_its_day_and_nothing_is_kept(kitchen: Kitchen, monday: date) -> None:
    browser = kitchen.browser()
    page = browser.get(f"/bought?week={week_of(monday)}")
    other = monday + timedelta(days=1)
    typed = {f"name-{monday}": "Soup", f"name-{other}": "x" * 5000}
    again = browser.send(page, "/bought", status=422, **typed)
    assert f"#name-{other}" in again.html
    assert again.form("/bought").data()[f"name-{monday}"] == ["Soup"], "what was typed is kept"
    assert (there(kitchen, monday) or {"menu": None})["menu"] is None


def test_a_day_changed_on_another_device_is_not_written_over(kitchen: Kitchen, monday: date) -> None:
    one, other = kitchen.browser(), kitchen.browser()
    address = f"/bought?week={week_of(monday)}"
    late = other.get(address)
    one.send(one.get(address), "/bought", **{f"name-{monday}": "Soup"})
    other.send(late, "/bought", status=409, **{f"name-{monday}": "Pie"})
    assert (there(kitchen, monday) or {})["menu"]["name"] == "Soup"


def test_figures_and_allergens_of_a_meal_are_typed_and_say_what_they_mean(kitchen: Kitchen, monday: date) -> None:
    browser, linden = kitchen.browser(), kitchen.children["Linden"]
    address = f"/bought/day/{monday}"
    wrong = browser.send(browser.get(address), address, status=422, name="Noodles", energy_kcal="lots")
    assert wrong.form(address).data()["name"] == ["Noodles"]
    assert (there(kitchen, monday) or {"menu": None})["menu"] is None
    page = browser.send(wrong, address, energy_kcal="520,5", sodium_mg="610", contains="peanut, wheat")
    menu = (there(kitchen, monday) or {})["menu"]
    assert (menu["facts"]["energy_kcal"], menu["facts"]["sodium_mg"], menu["facts"]["iron_mg"]) == (520.5, 610, None)
    assert "Not for Linden: peanut." in page.text
    other = {"energy_kcal": "", "sodium_mg": "", "energy_kj": "2 092", "salt_g": "1,5"}
    browser.send(browser.get(address), address, **other)
    menu = (there(kitchen, monday) or {})["menu"]
    assert (menu["facts"]["energy_kcal"], menu["facts"]["sodium_mg"]) == (500, 600)
    apart = browser.send(browser.get(address), address, status=422, salt_g="4")
    assert "600" in apart.form(address).data()["sodium_mg"]
    page = browser.get(f"/bought?week={week_of(monday)}")
    browser.send(page, "/bought", **{f"buys-{monday}": [linden]})
    assert "Linden is to buy it" in browser.get(f"/bought?week={week_of(monday)}").text
    assert "safe" not in page.text.lower()


def test_the_forms_of_a_day_are_in_the_language_of_the_page(kitchen: Kitchen, monday: date) -> None:
    """ "peanut" stood on the Spanish form of a meal, and "main" on that of a day."""
    browser = kitchen.browser(language="es")
    assert '<label for="says-peanut">cacahuete (maní)</label>' in browser.get(f"/bought/day/{monday}").html
    kitchen.set_out("usual mornings", monday)
    day = browser.get(f"/week/{kitchen.children['Rowan']}/{monday}").html
    assert "<legend><bdi>plato principal</bdi></legend>" in day
    assert "<bdi>main</bdi>" not in day


def test_what_is_not_known_is_never_told_as_clear(kitchen: Kitchen, monday: date) -> None:
    browser = kitchen.browser()
    address = f"/bought/day/{monday}"
    page = browser.send(browser.get(address), address, name="Stew")
    assert "For Linden it is not known whether peanut is in it. Ask the school's kitchen" in page.text
    said = browser.send(browser.get(address), address, **{"says-peanut": "free"})
    assert "it is not known whether peanut" not in said.text
    assert "The school declares nothing here that Linden must not have" in said.text
    warned = browser.send(browser.get(address), address, **{"says-peanut": "may_contain"})
    assert "Not for Linden: peanut." in warned.text, "Linden must not have what may contain it either"


def test_a_table_is_shown_first_and_then_kept_whole(kitchen: Kitchen, monday: date) -> None:
    browser = kitchen.browser()
    offer = (there(kitchen, monday) or {})["offer"]
    days = [monday + timedelta(days=day) for day in range(5)]
    table = "date,name,contains,energy_kcal\n" + "\n".join(f'{day},"Meal, {day.day}",milk,500' for day in days)
    look = send_table(browser, monday, table)
    assert "5 days were read" in look.text
    assert (there(kitchen, monday) or {})["menu"] is None, "nothing is kept before it was looked at"
    browser.send(look, "/bought/table/keep")
    for day in days:
        kept = there(kitchen, day)
        assert kept is not None
        assert kept["menu"]["name"] == f"Meal, {day.day}"
    assert (there(kitchen, monday) or {})["offer"] == offer


def test_an_uploaded_file_is_read_and_one_that_is_no_text_refused(kitchen: Kitchen, monday: date) -> None:
    browser = kitchen.browser()
    form = browser.get(f"/bought?week={week_of(monday)}").form("/bought/table")
    good = f"\ufeffdate;name\r\n{monday};Crème de pois\r\n".encode()
    answer = browser.client.post(form.action, data=form.data(), files={"file": ("menu.csv", good)}, headers=OURS)
    assert "Crème de pois" in answer.text
    bad = browser.client.post(
        form.action, data=form.data(), files={"file": ("menu.csv", b"date,name\n\xff\xfe")}, headers=OURS
    )
    assert bad.status_code == 422
    assert "Save the table again as" in bad.text
    assert "CSV UTF-8" in bad.text


def test_one_bad_line_keeps_nothing_and_every_fault_names_line_column_and_remedy(
    kitchen: Kitchen, monday: date
) -> None:
    browser = kitchen.browser()
    table = f"date,name,sodium_mg\n{monday},Soup,100\n1 Dec,Pie,\n{monday + timedelta(days=1)},,lots\n"
    again = send_table(browser, monday, table, 422)
    for words in ("Line 3, date: “1 Dec” is not a day", "Line 4, name", "Line 4, sodium_mg: “lots”", "2026-12-01"):
        assert words in again.text
    assert again.form("/bought/table").data()["table"][0].strip() == table.strip(), "what was pasted is kept"
    form = again.form("/bought/table")
    sneaked = browser.client.post("/bought/table/keep", data={**form.data(), "table": [table]}, headers=OURS)
    assert sneaked.status_code == 422
    assert (there(kitchen, monday) or {"menu": None})["menu"] is None


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_columns_may_be_parted_in_three_ways_and_come_in_any_order(separator: str) -> None:
    table = f"Name{separator}Date\nSoup{separator}2026-12-01\n\n{separator}\nPie{separator}2026-12-02\n"
    assert read(table) == [("2026-12-01", "Soup"), ("2026-12-02", "Pie")]


def test_every_documented_column_is_read() -> None:
    cells = {"date": "2026-12-01", "name": "Soup", "contains": "milk", "may_contain": "celery", "groups": "fruit dairy"}
    cells |= dict.fromkeys(OTHER_UNITS, "")
    table = ",".join(COLUMNS) + "\n" + ",".join(cells.get(name, "1.5") for name in COLUMNS)
    menu = read_menu(table)[0].menu.model_dump()
    assert (menu["contains"], menu["may_contain"], menu["groups"]) == ("milk", "celery", ["fruit", "dairy"])
    assert set(menu["facts"].values()) == {1.5}


def test_a_menu_may_print_salt_and_kilojoules() -> None:
    """1.5 g of salt is 600 mg of sodium, 2,092 kJ are 500 kcal (Regulation (EU) No 1169/2011, Annexes I and XIV)."""
    (row,) = read_menu("date;name;salt_g;energy_kj\n2026-12-01;Soup;1,5;2092")
    facts = row.menu.facts
    assert (facts.sodium_mg, facts.energy_kcal) == (600, 500)
    assert any("line 2, sodium_mg" in one for one in faults("date,name,salt_g,sodium_mg\n2026-12-01,Soup,1.5,90"))


@pytest.mark.parametrize("limit", ["<0.5", "< 0,1 g", "≤0.5", "traces", "tr.", "trazas", "less than 1"])
def test_a_figure_that_is_only_a_limit_is_answered_with_what_to_type(
    kitchen: Kitchen, monday: date, limit: str
) -> None:
    browser, address = kitchen.browser(), f"/bought/day/{monday}"
    wrong = browser.send(browser.get(address), address, status=422, name="Soup", saturated_fat_g=limit, salt_g="much")
    assert "is not an exact figure. If it is a limit, type the limit (for <0.5: 0.5)." in wrong.text
    assert "much cannot be read as a number." in wrong.text  # all that is wrong together
    assert wrong.form(address).data()["saturated_fat_g"] == [limit]
    assert (there(kitchen, monday) or {"menu": None})["menu"] is None
    assert "the most it can be" in faults(f'date,name,fat_g\n2026-12-01,Soup,"{limit}"')[0]


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("", "are not a line of column names with days below it"),
        ("date,name\n", "are not a line of column names with days below it"),
        ("2026-12-01,Soup\n2026-12-02,Pie", "line 1, column 1"),
        ("date,name,kcal\n2026-12-01,Soup,5", "line 1, column 3: 'kcal' is not a known column"),
        ("date,name,name\n2026-12-01,a,b", "is a column twice"),
        ("date,contains\n2026-12-01,a", "'name' is not among the columns"),
        ("date,name\n2026-02-30,Soup", "line 2, date: '2026-02-30' is not a day"),
        ("date,name\n2026-W49-1,Soup", "line 2, date"),
        ("date,name\n2026-12-01,Soup\n2026-12-01,Pie", "line 3, date: '2026-12-01' appears in the table twice"),
        ("date,name\n2026-12-01,Soup,milk", "line 2: '3 cells' are more than the 2 columns"),
        ('date,name\n2026-12-01,"Soup', "quotation marks"),
        (
            'date,name,sodium_mg\n2026-12-01,Soup,"1,200"',
            "line 2, sodium_mg: '1,200' is not a number, or could be read as two",
        ),
        ("date,name,sodium_mg\n2026-12-01,Soup,nan", "line 2, sodium_mg"),
        ("date,name,sodium_mg\n2026-12-01,Soup,-3", "line 2, sodium_mg: '-3.0' is less than 0"),
        ("date,name,groups\n2026-12-01,Soup,sweets", "line 2, groups: 'sweets'"),
        ("date,name\n" + "\n".join(f"2026-01-{1 + day % 28:02},x" for day in range(70)), "70 days"),
        ("date,name\n" + "x" * 250_000, "is longer than 200,000"),
    ],
)
def test_what_is_wrong_with_a_table_is_said_with_its_place(table: str, said: str) -> None:
    assert any(said in one for one in faults(table)), faults(table)


def test_the_price_is_typed_and_a_price_of_the_same_day_takes_its_place(kitchen: Kitchen, on: date) -> None:
    browser = kitchen.browser()
    page = browser.get("/bought")
    wrong = browser.send(page, "/bought/price", status=422, amount="3.105")
    assert wrong.form("/bought/price").data()["amount"] == ["3.105"]
    browser.send(page, "/bought/price", amount="3,40", currency="usd")
    again = browser.send(page, "/bought/price", amount="3.50")
    assert "$3.50 since" in again.text
    with kitchen.store.reading() as connection:
        prices = [one.body for one in page_of(connection, PRICES.kind, kitchen.id, None, 200)]
    today = [one for one in prices if one["what"] == "school_meal" and one["from"] == on.isoformat()]
    assert [(one["amount_minor"], one["currency"]) for one in today] == [(350, "USD")]


def test_a_child_has_its_own_price_and_the_pages_say_that_it_was_used(kitchen: Kitchen, on: date) -> None:
    """The family's meals cost 3.10; one child's are free from before its lunches on, so what it bought cost nothing."""
    browser = kitchen.browser()
    page = browser.get("/bought")
    children = {one["id"]: one["nickname"] for one in browser.client.get("/v1/children").json()["items"]}
    bought = [one for one in browser.client.get("/v1/lunches?limit=200").json()["items"] if one["kind"] == "bought"]
    child, day = bought[0]["child"], bought[0]["date"]
    paid = browser.send(page, "/bought/price", who=child, amount="0", **{"from": "2026-01-01"})
    assert f"{children[child]} : $0.00 since" in paid.text
    assert "$3.10 since" in paid.text  # the menu's stays
    week = week_of(date.fromisoformat(day))
    n = sum(one["child"] == child and week_of(date.fromisoformat(one["date"])) == week for one in bought)
    told = f"Bought at this child's own price, not the menu's: {n} {'lunch' if n == 1 else 'lunches'}."
    for address in (f"/bought?week={week}", f"/week?week={week}", f"/week/{child}?week={week}"):
        assert told in browser.get(address).text, address
    own = browser.get("/prices")
    assert f"School meal for {children[child]} $0.00, since" in own.text
    newer = browser.get(f"/prices/new?food=school_meal:{child}")
    browser.send(newer, "/prices/new", amount="0.40", currency="USD", **{"from": on.isoformat()})
    mine = [one for one in browser.client.get("/v1/prices?limit=200").json()["items"] if one["child"] == child]
    assert sorted(one["amount_minor"] for one in mine) == [0, 40]
    changed = browser.get(f"/prices/{mine[0]['id']}")
    browser.send(changed, f"/prices/{mine[0]['id']}", amount="0.30")
    mine = [one for one in browser.client.get("/v1/prices?limit=200").json()["items"] if one["child"] == child]
    assert sorted(one["amount_minor"] for one in mine) == [30, 40]
    assert browser.client.get("/prices/new?food=school_meal:00000000-0000-4000-8000-000000000000").status_code == 404


def test_costs_are_told_in_their_own_currency_and_prices_to_come_as_such(kitchen: Kitchen, on: date) -> None:
    """Foods in dollars, the meal in euros: nothing is converted, and no dollar is told as a euro."""
    browser = kitchen.browser()
    later = (on + timedelta(days=30)).isoformat()
    meals = [one for one in browser.client.get("/v1/prices?limit=200").json()["items"] if one["what"] == "school_meal"]
    since = (date.fromisoformat(max(one["from"] for one in meals)) + timedelta(days=1)).isoformat()
    browser.send(browser.get("/bought"), "/bought/price", amount="3,40", currency="EUR", **{"from": since})
    page = browser.send(browser.get("/bought"), "/bought/price", amount="3,60", currency="EUR", **{"from": later})
    price = page.text.partition("Price of the school's meal")[2]
    assert "€3.40 since" in price
    assert "€3.60 from" in price
    texts = [browser.get(f"/bought?week={week_of(on - timedelta(weeks=back))}").text for back in range(4)]
    told = [one.partition("Packed and bought, week of")[2].partition("Price of the school's meal")[0] for one in texts]
    assert any("Packed: " in one and "$" in one for one in told)
    assert all("€" not in one for one in told)
    assert "Bought: 1 lunch; the price of the school's meal is missing for these days." in told[0] + told[1]
    assert "Not counted: 3.40 EUR for the school meal." in told[0] + told[1]
    assert (
        "Most of your prices are in USD, so this one is not counted in what lunches cost."
        in browser.get("/prices").text
    )


def test_free_meals_end_on_a_day(kitchen: Kitchen, on: date) -> None:
    """Free to a day before today: the page says that it ended, and a last day before the first is refused at its field."""
    browser = kitchen.browser()
    child = browser.client.get("/v1/children").json()["items"][0]["id"]
    ended = (on - timedelta(days=1)).isoformat()
    typed = {"who": child, "amount": "0", "from": "2026-01-01"}
    wrong = browser.send(browser.get("/bought"), "/bought/price", status=422, until="2025-12-31", **typed)
    assert "#until" in {href for href, _words in wrong.links}
    page = browser.send(browser.get("/bought"), "/bought/price", until=ended, **typed)
    assert "It ended on" in page.text
    (mine,) = (one for one in browser.client.get("/v1/prices?limit=200").json()["items"] if one["child"] == child)
    assert (mine["amount_minor"], mine["until"]) == (0, ended)


def test_packed_stands_against_bought_with_words(kitchen: Kitchen, on: date) -> None:
    # 3.10 is the price of the school's meal in the invented family's own data.
    week = week_of(on - timedelta(days=7))
    weeks = [week_of(on - timedelta(weeks=back)) for back in range(4)]
    browser = kitchen.browser()
    texts = [browser.get(f"/bought?week={one}").text for one in weeks]
    assert any("Bought: 1 lunch, $3.10, $3.10 a lunch." in one for one in texts)
    there_now = browser.get(f"/bought?week={week}")
    assert "at least" in there_now.text
    assert "All children together" in there_now.text


def test_a_device_that_packs_sees_the_menu_and_changes_nothing(kitchen: Kitchen, monday: date) -> None:
    parent, packer = kitchen.browser(), kitchen.browser("pack")
    address = f"/bought?week={week_of(monday)}"
    filled = parent.send(parent.get(address), "/bought", **{f"name-{monday}": "Soup"})
    page = packer.get(address)
    assert "Soup" in page.text
    assert {form.action for form in page.forms} <= {"/bought", "/language"}
    assert not page.form("/bought").buttons
    packer.get(f"/bought/day/{monday}", 403)
    token = page.form("/language").data()["token"]
    for form in ("/bought", "/bought/price", "/bought/table", "/bought/table/keep", f"/bought/day/{monday}"):
        data = {"token": token, "name": "Pie", "table": f"date,name\n{monday},Pie", f"name-{monday}": "Pie"}
        assert packer.client.post(form, data=data, headers=OURS).status_code == 403
    assert filled.form("/bought").data()[f"name-{monday}"] == ["Soup"]
    assert (there(kitchen, monday) or {})["menu"]["name"] == "Soup"


def test_a_childs_device_and_forms_without_token_reach_nothing(kitchen: Kitchen, monday: date) -> None:
    kitchen.browser("take", kitchen.children["Rowan"]).get("/bought", 403)
    browser = kitchen.browser()
    data = {"name": "Pie", "version": ""}
    assert browser.client.post(f"/bought/day/{monday}", data=data, headers=OURS).status_code == 403
    assert (there(kitchen, monday) or {"menu": None})["menu"] is None
