"""The pages of the stock: added, moved, taken, thrown and counted by a tap; what ends first is marked; faults stand at fields.

Use-by days by the sources named in ``tests/domain/stock/test_keeping.py``.
"""

from datetime import UTC, datetime, timedelta
from typing import Any

from tests.web.kitchens import Browser, Kitchen

CHICKEN, SANDWICH = "chicken-breast-roasted", "sandwich-peanut-butter"


def day(days: int = 0) -> str:
    """A day from today."""
    return (datetime.now(UTC).date() + timedelta(days)).isoformat()


def there(browser: Browser) -> list[dict[str, Any]]:
    """All entries that are stored."""
    found: list[dict[str, Any]] = browser.client.get("/v1/stock").json()["items"]
    return found


def entry(kitchen: Kitchen, food: str = CHICKEN, **more: Any) -> str:
    """An entry of three portions in the fridge, made yesterday."""
    return kitchen.keep("stock", {"food": food, "place": "fridge", "portions": 3, "made_on": day(-1), **more})


def test_a_dish_is_found_and_added_once(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    assert "Nothing is here yet." in browser.get("/stock").text
    found = browser.send(browser.get("/stock"), "/stock", q="peanut butter sandwich")
    address = f"/stock/new?food={SANDWICH}"
    assert address in {href for href, _words in found.links}
    page = browser.get(address)
    assert "freezes well" in page.text
    for _twice in range(2):
        browser.send(page, "/stock/new", portions="2.5", place="freezer", how="made", on=day())
    (kept,) = there(browser)
    assert (kept["portions"], kept["place"], kept["made_on"]) == (2.5, "freezer", day())
    assert "best by" in browser.get("/stock").text


def test_one_tap_takes_moves_and_throws_and_the_same_tap_twice_does_it_once(small_kitchen: Kitchen) -> None:
    here = entry(small_kitchen)
    browser = small_kitchen.browser()
    page = browser.get("/stock")
    assert "use by" in page.text
    assert "2 days in the fridge" in page.text
    forms = [one for one in page.forms if one.action == f"/stock/{here}/happened"]
    taps = {dict(one.fields)["event"]: one for one in forms}
    assert set(taps) == {"taken", "to-freezer", "thrown"}
    for _twice in range(2):
        browser.client.post(
            f"/stock/{here}/happened", data=taps["taken"].data(), headers={"Origin": "http://testserver"}
        )
    (left,) = there(browser)
    assert left["portions"] == 2
    browser.send(browser.get(f"/stock/{here}"), f"/stock/{here}/happened", event="to-freezer", portions="1")
    assert {(one["place"], one["portions"]) for one in there(browser)} == {("fridge", 1), ("freezer", 1)}
    browser.send(browser.get(f"/stock/{here}"), f"/stock/{here}/happened", event="thrown", portions="")
    assert "thrown away" in browser.get(f"/stock/{here}").text


def test_what_is_over_is_said_by_word_and_sign(small_kitchen: Kitchen) -> None:
    here = entry(small_kitchen, made_on=day(-9))
    page = small_kitchen.browser().get("/stock")
    assert "past its date" in page.text
    assert "Throw it away" in page.text
    taps = [dict(one.fields)["event"] for one in page.forms if one.action == f"/stock/{here}/happened"]
    assert taps == ["thrown"]


def test_tonight_stands_on_both_pages_and_is_done_by_a_tap(small_kitchen: Kitchen) -> None:
    frozen = entry(small_kitchen, SANDWICH, place="freezer", portions=6)
    browser = small_kitchen.browser()
    page = browser.get(f"/stock/{frozen}")
    browser.send(page, f"/stock/{frozen}/keep", keep="2")
    assert ("keep", "2") in browser.get(f"/stock/{frozen}").form(f"/stock/{frozen}/keep").fields
    said = "Move 2 portions of peanut butter sandwich from the freezer to the fridge tonight"
    assert said in browser.get("/").text
    page = browser.get("/stock")
    assert said in page.text
    browser.send(page, f"/stock/{frozen}/happened")  # the first of its forms: what is to be moved tonight
    assert {(one["place"], one["portions"]) for one in there(browser)} == {("freezer", 4), ("fridge", 2)}
    assert said not in browser.get("/stock").text
    browser.send(browser.get(f"/stock/{frozen}"), f"/stock/{frozen}/keep", keep="")
    assert browser.client.get("/v1/household").json()["keep_in_fridge"] == []


def test_faults_stand_at_their_fields_and_what_was_typed_stays(small_kitchen: Kitchen) -> None:
    here = entry(small_kitchen)
    browser = small_kitchen.browser()
    wrong = {"portions": "2.1", "on": "yesterday", "grams": "heavy"}
    page = browser.send(browser.get(f"/stock/new?food={CHICKEN}"), "/stock/new", status=422, **wrong)
    assert {"#on", "#grams"} <= {href for href, _words in page.links}
    assert set(wrong.items()) <= set(page.form("/stock/new").fields)
    browser.send(page, "/stock/new", status=422, on="2999-01-01", grams="", portions="1")
    happened = f"/stock/{here}/happened"
    for event, portions in (("taken", "4"), ("counted", ""), ("counted", "many"), ("to-fridge", "")):
        browser.send(browser.get(f"/stock/{here}"), happened, status=422, event=event, portions=portions)
    browser.send(browser.get(f"/stock/{here}"), f"/stock/{here}/keep", status=422, keep="0.3")
    assert [one["portions"] for one in there(browser)] == [3]
    browser.get("/stock/new?food=no-such-food", 404)
    browser.get("/stock/01900000-0000-7000-8000-000000000999", 404)


def test_days_and_note_are_changed_and_an_entry_removed(small_kitchen: Kitchen) -> None:
    here = entry(small_kitchen, "ham-sliced", printed_date=day(30))
    browser = small_kitchen.browser()
    assert "keeps until" in browser.get("/stock").text
    page = browser.get(f"/stock/{here}")
    browser.send(page, f"/stock/{here}/days", opened=day(), note="for Friday")
    (kept,) = there(browser)
    assert (kept["opened_on"], kept["note"], kept["days_left"]) == (day(), "for Friday", 3)  # opened: 3 to 4 days
    browser.send(page, f"/stock/{here}/days", status=422, note="late")  # from a page that is old by now
    browser.send(browser.get(f"/stock/{here}"), f"/stock/{here}/remove")
    assert there(browser) == []


def test_it_speaks_spanish(small_kitchen: Kitchen) -> None:
    entry(small_kitchen, made_on=day(-9))
    text = small_kitchen.browser(language="es").get("/stock").text
    assert "Refrigerador" in text
    assert "2 días en el refrigerador" in text
    assert "Hay que tirarlo" in text


def test_a_device_to_pack_sees_and_changes_nothing(small_kitchen: Kitchen) -> None:
    here = entry(small_kitchen)
    page = small_kitchen.browser("pack").get("/stock")
    assert "chicken breast" in page.text
    assert not [one for one in page.forms if "/stock/" in one.action]
    assert here not in "".join(href for href, _words in page.links)
