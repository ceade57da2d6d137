"""A plan's shopping list: what is needed less what is at home; ticked once from however many devices, and taken back."""

import csv
import io
from datetime import date
from typing import Any

import pytest

from tests.web.kitchen.plans import day, planned, stock_of
from tests.web.kitchens import Browser, Kitchen
from tests.web.reading import Page

BOUGHT, NOT_BOUGHT = "/shopping/bought", "/shopping/not-bought"


@pytest.fixture
def shopping(new_kitchen: Kitchen, on: date) -> str:
    """The address of the list of a plan."""
    return f"/plans/{planned(new_kitchen, on)}/shopping"


def line_of(page: Page, food: str, action: str = BOUGHT) -> dict[str, Any]:
    """The form of a line as it stands, by the food in it."""
    forms = [one for one in page.forms if one.action.endswith(action)]
    return next(one.data() for one in forms if f":{food}:" in dict(one.fields)["line"])


def sent(browser: Browser, address: str, data: dict[str, Any], status: int = 200) -> Page:
    """What a form is answered with."""
    browser.last = browser.client.post(address, data=data, headers={"Sec-Fetch-Site": "same-origin"})
    assert browser.last.status_code == status, browser.last.text[-1500:]
    return Page(browser.last.text)


def of(browser: Browser, food: str) -> list[dict[str, Any]]:
    """The entries of a food in the stock."""
    return [one for one in stock_of(browser) if one["food"] == food]


def test_the_list_says_what_to_buy_for_whom_it_is_not_and_what_it_costs(new_kitchen: Kitchen, shopping: str) -> None:
    """Three days, two children: six cups of milk at 244 g (usda-sr28 01082), from one pack of 3785 g at 3.79."""
    page = new_kitchen.browser().get(shopping)
    assert "1 % milk 1.4 litres: 1 × 3.785 kg, $3.79" in page.text
    assert "Not for Birch: peanut." in page.text
    assert "Read the packet of whole wheat bread for Birch: look for peanut." in page.text
    assert "To pay: $3.79. That leaves out 6 things that have no price yet." in page.text
    assert "pear 3 pears, 593 g, no price yet" in page.text
    assert "/packets/new?food=bread-whole-wheat" in {link for link, _words in page.links}
    assert "To the cupboard; other amount or place peanut butter, smooth" in page.text
    assert "To the fridge; other amount or place 1 % milk" in page.text


def test_what_is_still_to_pay_goes_down_with_ticks_and_up_again(new_kitchen: Kitchen, on: date, shopping: str) -> None:
    """Milk at 3.79; three pears of 178 g, 10 % core (usda-sr28 09252), from packs of a kilogram at 2.50: 6.29 in all."""
    price = {"what": "food", "food": "pear", "amount_minor": 250, "currency": "USD", "pack_grams": 1000}
    new_kitchen.keep("prices", {**price, "from": day(on, -30)})
    browser, milk = new_kitchen.browser(), "milk-1-percent"
    page = browser.get(shopping)
    assert "To pay: $6.29. That leaves out" in page.text
    assert "Still to pay" not in page.text
    there = sent(browser, shopping + "/bought", line_of(page, milk))
    assert "To pay in all: $6.29. Still to pay: at least $2.50. That leaves out" in there.text
    cost = browser.client.get(shopping + ".json").json()["cost"]
    assert (cost["to_pay_minor"], cost["still_to_pay_minor"], cost["still_to_pay_complete"]) == (629, 250, False)
    spanish = new_kitchen.browser(language="es").get(shopping)
    assert "A pagar en total: 6,29 US$. Falta por pagar: al menos 2,50 US$." in spanish.text
    page = there
    for form in [one.data() for one in page.forms if one.action.endswith(BOUGHT) and "grams" in dict(one.fields)]:
        page = sent(browser, shopping + "/bought", form)
    assert "To pay in all: $6.29. Still to pay: $0.00." in page.text
    for line in {one.data()["line"][0]: one.data() for one in page.forms if one.action.endswith(NOT_BOUGHT)}.values():
        page = sent(browser, shopping + "/not-bought", line)
    assert "To pay: $6.29." in page.text


def test_a_tick_makes_one_entry_however_often_and_from_whichever_device(new_kitchen: Kitchen, shopping: str) -> None:
    first, second = new_kitchen.browser(), new_kitchen.browser()
    milk = "milk-1-percent"
    one, other = (line_of(browser.get(shopping), milk) for browser in (first, second))
    for _twice in range(2):
        sent(first, shopping + "/bought", one)
    page = sent(second, shopping + "/bought", other)
    (entry,) = of(first, milk)
    assert (entry["grams"], entry["place"]) == (3785, "fridge")
    assert entry["bought_on"] is not None
    assert entry["plan"] is not None
    assert "bought, in the fridge" in page.text
    assert second.address == shopping
    assert "1 % milk 1.4 litres" in page.text  # what was bought for the plan stays on its list


def test_a_tick_is_taken_back_once_and_can_be_set_again(new_kitchen: Kitchen, shopping: str) -> None:
    browser, milk = new_kitchen.browser(), "milk-1-percent"
    there = sent(browser, shopping + "/bought", line_of(browser.get(shopping), milk))
    back = line_of(there, milk, NOT_BOUGHT)
    for _twice in range(2):
        page = sent(browser, shopping + "/not-bought", back)
    assert of(browser, milk) == []
    assert "bought, in the fridge" not in page.text
    sent(browser, shopping + "/bought", line_of(page, milk))
    (entry,) = of(browser, milk)
    assert entry["grams"] == 3785
    history = browser.get(f"/stock/{entry['id']}").text
    assert "added" in history


def test_what_was_used_meanwhile_is_not_taken_out_twice(new_kitchen: Kitchen, shopping: str) -> None:
    """A portion was drunk and one poured away: taking the tick back takes out what is left, and says so in its history."""
    browser, milk = new_kitchen.browser(), "milk-1-percent"
    there = sent(browser, shopping + "/bought", line_of(browser.get(shopping), milk))
    (entry,) = of(browser, milk)
    browser.send(browser.get("/stock"), f"/stock/{entry['id']}/happened")
    sent(browser, shopping + "/not-bought", line_of(there, milk, NOT_BOUGHT))
    assert of(browser, milk) == []
    assert "taken out again, ticked by mistake" in browser.get(f"/stock/{entry['id']}").text
    events = browser.client.get(f"/v1/stock/{entry['id']}/events").json()["items"]
    assert sum(round(one["grams"] * 1000) for one in events) == 0


def test_another_amount_and_place(new_kitchen: Kitchen, shopping: str) -> None:
    browser = new_kitchen.browser()
    page = browser.get(shopping)
    asked = line_of(page, "bread-whole-wheat")
    wrong = sent(browser, shopping + "/bought", {**asked, "grams": "much"}, 422)
    assert "much cannot be read as a number." in wrong.text
    typed = next(one for one in wrong.forms if "much" in dict(one.fields).values())
    assert dict(typed.fields)["line"] == asked["line"][0]  # what was typed stands where it was typed
    assert (
        "Type the weight in grams, such as 500."
        in sent(browser, shopping + "/bought", {**asked, "grams": ""}, 422).text
    )
    page = sent(browser, shopping + "/bought", {**asked, "grams": "750,5", "place": "freezer"})
    (entry,) = of(browser, "bread-whole-wheat")
    assert entry["place"] == "freezer"
    assert round(entry["grams"], 1) == 750.5
    assert "bought, in the freezer" in page.text


def test_less_than_is_needed_is_still_to_buy_whatever_is_eaten_or_moved(new_kitchen: Kitchen, shopping: str) -> None:
    """Of six slices of bread, 384 g, 250 g came home: 134 g are to be bought, and not more once a part of it is gone."""
    browser, food = new_kitchen.browser(), "bread-whole-wheat"
    page = sent(browser, shopping + "/bought", {**line_of(browser.get(shopping), food), "grams": "250"})
    open_lines = page.text.partition("Still to buy: ")[2].partition(".")[0]
    assert "Still to buy: 134 g." in page.text
    assert "Falta por comprar: 134 g." in new_kitchen.browser(language="es").get(shopping).text
    (entry,) = of(browser, food)
    for event in ({"event": "taken", "portions": 1}, {"event": "moved", "to": "freezer", "portions": 1}):
        headers = {"If-Match": "*", "Sec-Fetch-Site": "same-origin"}
        assert browser.client.post(f"/v1/stock/{entry['id']}/events", json=event, headers=headers).status_code < 300
    assert "Still to buy: 134 g." in browser.get(shopping).text
    sent(browser, shopping + "/not-bought", line_of(browser.get(shopping), food, NOT_BOUGHT))
    page = sent(browser, shopping + "/bought", line_of(browser.get(shopping), food))
    assert "Still to buy: 134 g" not in page.text
    assert f"Still to buy: {int(open_lines) - 1}." in page.text


def test_moving_a_part_does_not_double_what_was_bought(new_kitchen: Kitchen, shopping: str) -> None:
    browser, food = new_kitchen.browser(), "bread-whole-wheat"
    sent(browser, shopping + "/bought", line_of(browser.get(shopping), food))
    (entry,) = of(browser, food)
    headers = {"If-Match": f'"{entry["version"]}"', "Sec-Fetch-Site": "same-origin"}
    event = {"event": "moved", "to": "freezer", "portions": 2}
    assert browser.client.post(f"/v1/stock/{entry['id']}/events", json=event, headers=headers).status_code < 300
    assert len(of(browser, food)) == 2
    page = browser.get(shopping)
    sent(browser, shopping + "/not-bought", line_of(page, food, NOT_BOUGHT))
    assert of(browser, food) == []


def test_what_is_at_home_is_not_on_the_list(new_kitchen: Kitchen, on: date, shopping: str) -> None:
    entry = {"food": "milk-1-percent", "place": "fridge", "portions": 6, "bought_on": day(on, 0)}
    new_kitchen.keep("stock", entry)
    page = new_kitchen.browser().get(shopping)
    assert "1 % milk : 1.4 litres" in page.text.partition("At home already")[2]
    assert "other amount or place 1 % milk" not in page.text
    assert (
        "What is eaten costs at least $1.47, what is at home already included" in page.text
    )  # 1464 g at 3.79 for 3785 g


def test_more_than_a_lunch_can_hold_may_be_at_home(new_kitchen: Kitchen, on: date, shopping: str) -> None:
    """Gallons of milk and a sack of 25 kg of apples: more than one item of a lunch may weigh."""
    for food, grams in (("milk-1-percent", 3785.0), ("apple", 10_000.0)):
        entry = {"food": food, "place": "fridge", "bought_on": day(on, 0), "portions": 2.5, "portion_grams": grams}
        new_kitchen.keep("stock", entry)
    page = new_kitchen.browser().get(shopping)
    assert "1 % milk : 1.4 litres" in page.text.partition("At home already")[2]
    assert "other amount or place apple" not in page.text


def test_what_is_at_home_raw_counts_as_what_it_becomes(new_kitchen: Kitchen, on: date, shopping: str) -> None:
    """Raw eggs in the fridge, for the boiled ones of the plan."""
    page = new_kitchen.browser().get(shopping).text
    assert "other amount or place egg, raw" in page
    assert "egg, raw ( Egg, whole, raw, fresh )" in page.partition("Show the figures")[2]
    eggs = {"food": "sr28-01123", "place": "fridge", "portions": 1, "portion_grams": 600, "bought_on": day(on, 0)}
    new_kitchen.keep("stock", eggs)
    page = new_kitchen.browser().get(shopping)
    assert "other amount or place egg, raw" not in page.text
    assert "egg, hard boiled" in page.text.partition("At home already")[2]


def test_the_stock_counts_what_can_be_eaten_of_what_was_bought(new_kitchen: Kitchen, shopping: str) -> None:
    """Three pears of 178 g, 10 % core (usda-sr28 09252), are bought as 593 g: three portions at home, not 3.3."""
    browser = new_kitchen.browser()
    asked = line_of(browser.get(shopping), "pear")
    assert asked["grams"] == ["594"]
    sent(browser, shopping + "/bought", asked)
    (entry,) = of(browser, "pear")
    assert (round(entry["grams"]), round(entry["portion_grams"])) == (535, 178)
    assert entry["portions"] == 3


def test_what_is_at_home_raw_counts_as_long_as_it_keeps(new_kitchen: Kitchen, on: date, shopping: str) -> None:
    """Raw eggs that are past their date are not counted on for the boiled ones."""
    eggs = {"food": "sr28-01123", "place": "fridge", "portions": 1, "portion_grams": 600, "bought_on": day(on, -20)}
    new_kitchen.keep("stock", {**eggs, "printed_date": day(on, -1)})
    browser = new_kitchen.browser()
    assert "other amount or place egg, raw" in browser.get(shopping).text
    new_kitchen.keep("stock", {**eggs, "printed_date": day(on, 9)})
    assert "other amount or place egg, raw" not in browser.get(shopping).text


def test_what_is_at_home_raw_counts_once(new_kitchen: Kitchen, on: date) -> None:
    """A plan with raw and with cooked carrots: what is there of the raw ones serves one of them, not both."""
    groups = [{"id": "one", "items": [{"food": "sr28-11124", "quantity": 100, "unit": "g"}]}]
    groups.append({"id": "two", "items": [{"food": "carrots-cooked", "quantity": 100, "unit": "g"}]})
    offers = [{"id": "mornings", "offer": {"groups": groups}}]
    plan = planned(new_kitchen, on, offers=offers, dishes=[], days=[day(on, 1)])
    carrots = {"food": "sr28-11124", "place": "fridge", "portions": 1, "portion_grams": 200, "bought_on": day(on, 0)}
    new_kitchen.keep("stock", carrots)
    data = new_kitchen.browser().client.get(f"/plans/{plan}/shopping.json").json()
    assert {one["food"]: one["grams"] for one in data["taken"]} == {"sr28-11124": 200}
    lines = [one for day_ in data["days"] for kind in day_["kinds"] for one in kind["lines"]]
    assert [one["eaten_as"] for one in lines] == [["carrots, cooked, no salt"]]


def test_what_a_lunch_of_the_plan_took_stays_off_the_list(new_kitchen: Kitchen, on: date, shopping: str) -> None:
    """The plan counts that lunch too: eating it must not put more on the list."""
    new_kitchen.keep("stock", {"food": "milk-1-percent", "place": "fridge", "portions": 6, "bought_on": day(on, 0)})
    items = [{"food": "milk-1-percent", "quantity": 1, "unit": "cup"}]
    lunch = {"child": new_kitchen.children["Ash"], "date": day(on, 1), "kind": "packed", "items": items}
    new_kitchen.keep("lunches", lunch)
    browser = new_kitchen.browser()
    (entry,) = of(browser, "milk-1-percent")
    assert entry["portions"] == 5
    assert "other amount or place 1 % milk" not in browser.get(shopping).text


def test_what_a_lunch_of_the_plan_took_raw_stays_off_the_list(new_kitchen: Kitchen, on: date, shopping: str) -> None:
    """Six boiled eggs of 50 g are of 325.2 g of raw ones (155 and 143 kcal, usda-sr28); one is eaten of 330 g."""
    eggs = {"food": "sr28-01123", "place": "fridge", "portions": 1, "portion_grams": 330, "bought_on": day(on, 0)}
    new_kitchen.keep("stock", eggs)
    items = [{"food": "egg-hard-boiled", "quantity": 50, "unit": "g"}]
    lunch = {"child": new_kitchen.children["Ash"], "date": day(on, 1), "kind": "packed", "items": items}
    new_kitchen.keep("lunches", {**lunch, "acknowledged": {"reason": "cut up at school"}})
    browser = new_kitchen.browser()
    assert round(of(browser, "sr28-01123")[0]["grams"]) == 276
    assert "other amount or place egg, raw" not in browser.get(shopping).text


def test_the_first_day_of_shopping_is_kept_in_the_address(new_kitchen: Kitchen, on: date, shopping: str) -> None:
    browser = new_kitchen.browser()
    asked = browser.get(f"{shopping}?shop={day(on, -1)}")
    assert line_of(asked, "milk-1-percent")["shop"] == [day(on, -1)]
    sent(browser, shopping + "/bought", line_of(asked, "milk-1-percent"))
    assert browser.last.url.query == f"shop={day(on, -1)}".encode()
    assert "bought, in the fridge" in browser.get(shopping).text  # the same line, whichever the day
    late = browser.get(f"{shopping}?shop={day(on, 2)}", status=422)
    assert "That is too late for the first prep day or the first lunch." in late.text
    assert "Give a day as year-month-day" in browser.get(f"{shopping}?shop=soon", status=422).text


def test_it_is_kept_as_a_table_and_as_data(new_kitchen: Kitchen, shopping: str) -> None:
    browser = new_kitchen.browser()
    table = browser.client.get(shopping + ".csv")
    assert table.headers["content-type"].startswith("text/csv")
    assert table.headers["content-disposition"] == 'attachment; filename="shopping.csv"'
    rows = list(csv.DictReader(io.StringIO(table.text)))
    assert {"1 % milk", "pear"} <= {row["name"] for row in rows}
    data = browser.client.get(shopping + ".json").json()
    assert [one["line"] for day_ in data["days"] for kind in day_["kinds"] for one in kind["lines"]][:1] == [
        "buy:bread-whole-wheat:1"
    ]


def test_what_was_bought_unread_becomes_a_prompt_to_read(new_kitchen: Kitchen, shopping: str) -> None:
    """Until it is bought nothing speaks of it on the page of the packets: no offer and no lunch has it."""
    browser = new_kitchen.browser()
    assert "whole wheat bread" not in browser.get("/packets").text
    sent(browser, shopping + "/bought", line_of(browser.get(shopping), "bread-whole-wheat"))
    page = browser.get("/packets")
    assert "whole wheat bread for Birch; it is at home and not read yet" in page.text
    new_kitchen.keep("packets", {"food": "bread-whole-wheat", "read_on": str(date.today()), "ingredients": "flour"})  # noqa: DTZ011
    assert "it is at home and not read yet" not in browser.get("/packets").text


def test_whoever_packs_sees_it_and_ticks_nothing(new_kitchen: Kitchen, shopping: str) -> None:
    page = new_kitchen.browser("pack").get(shopping)
    assert "1 % milk" in page.text
    assert [one.action for one in page.forms if one.method == "post"] == ["/language"]


def test_in_spanish(new_kitchen: Kitchen, shopping: str) -> None:
    page = new_kitchen.browser(language="es").get(shopping)
    assert "Lista de la compra" in page.text
    assert "Al refrigerador;" in page.text
    assert "Not for" not in page.text


def test_a_lunch_for_each_child_says_what_each_costs(new_kitchen: Kitchen, on: date) -> None:
    """Given out: a cup of milk and a pear for Ash on one day."""
    drink, fruit = {"group": "drink", "item": "milk-1-percent"}, {"group": "fruit", "item": "pear"}
    plan = planned(new_kitchen, on, "given out", way="lunches", days=[day(on, 1)], dishes=[], prep_days=[])
    browser = new_kitchen.browser()
    record = browser.client.get(f"/v1/plans/{plan}")
    body = {"decisions": {"days": [{"day": day(on, 1), "lunches": [{"child": 0, "items": [drink, fruit]}]}]}}
    headers = {
        "If-Match": record.headers["etag"],
        "Content-Type": "application/merge-patch+json",
        "Sec-Fetch-Site": "same-origin",
    }
    import orjson

    assert browser.client.patch(f"/v1/plans/{plan}", content=orjson.dumps(body), headers=headers).status_code == 200
    page = browser.get(f"/plans/{plan}/shopping")
    assert "Ash: 1 lunch, at least $0.24" in page.text
