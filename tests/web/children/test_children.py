"""The children's pages: added, changed, removed, with faults at their fields, and only by devices that may."""

import pytest

from tests.web.kitchens import OURS, Browser, Kitchen

NASTY = "<script>alert(1)</script>\u202eneb"
ROBIN = {"nickname": "Robin", "month": "05", "year": "2019", "standard": "us-school-lunch"}


def add_robin(browser: Browser, **more: str) -> str:
    """Robin's address, added through the form."""
    browser.send(browser.get("/children/new"), "/children/new", **{**ROBIN, **more})
    return browser.address


def test_a_child_is_added_in_plain_words(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    address = add_robin(
        browser, **{"avoid-0": "an allergy to peanuts", "avoid-1": "coeliac disease with gluten-free oats"}
    )
    page = browser.get(address)
    assert "an allergy to peanuts To avoid: peanut, also where there may be traces." in page.text
    assert "To avoid: gluten above 20 mg/kg" in page.text
    listed = browser.get("/children")
    assert "2 children" in listed.text
    assert "Born in May 2019. Must not eat: peanut and gluten above 20 mg/kg." in listed.text


def test_the_list_names_what_must_not_be_eaten_and_what_the_class_bans(small_kitchen: Kitchen) -> None:
    """It said "peanut and coeliac disease", and of a child whose class bans peanut that nothing has been entered."""
    browser = small_kitchen.browser()
    robin = add_robin(browser, **{"avoid-0": "peanuts", "avoid-1": "coeliac disease"})
    assert "Must not eat: peanut and cereals containing gluten. " in browser.get("/children").text
    browser.send(browser.get(robin), robin, **{"avoid-0": "", "avoid-1": "", "bans": "nuts"})
    listed = browser.get("/children").text
    assert "Born in May 2019. Not allowed in class or school: tree nuts and peanut." in listed
    assert "No se permite en la clase o la escuela: " in small_kitchen.browser(language="es").get("/children").text


def test_without_a_child_an_example_says_what_it_takes(small_kitchen: Kitchen) -> None:
    ash = f"/children/{small_kitchen.children['Ash']}"
    browser = small_kitchen.browser()
    asked = browser.get(f"{ash}/remove")
    assert "No lunch is logged for this child." in asked.text
    empty = browser.send(asked, f"{ash}/remove")
    assert "No child has been added yet." in empty.text
    assert ("/children/new", "Add a child") in empty.links


def test_traces_are_kept_away_unless_the_tick_is_taken_off(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    page = browser.get("/children/new")
    data = page.form("/children/new").data(**{**ROBIN, "avoid-0": "milk", "avoid-1": "egg"})
    del data["traces-1"]
    page = browser.client.post("/children/new", data=data, headers=OURS).text
    assert "To avoid: milk, also where there may be traces." in page
    assert "To avoid: egg, wherever it is inside." in page


def test_general_advice_is_shown_beside_the_week_only_where_it_was_ticked(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    address = add_robin(browser)
    week = f"/week/{address.rsplit('/', 1)[-1]}"
    assert "Beside general advice" not in browser.get(week).text
    page = browser.send(browser.get(address), "/children/", yardsticks="who-free-sugars-2015")
    assert "Weeks are shown beside: WHO: free sugars, 2015." in page.text
    shown = browser.get(week).text
    assert "Beside general advice" in shown
    assert "WHO: free sugars, 2015: 0 of 2 limits kept, 2 not known. This does not change the result." in shown
    data = browser.get(address).form("/children/").data()
    del data["yardsticks"]
    browser.client.post(address, data=data, headers=OURS)
    assert "Beside general advice" not in browser.get(week).text


def test_faults_stand_at_their_fields_and_what_was_typed_stays(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    typed = {
        **ROBIN,
        "nickname": "Robin",
        "month": "",
        "avoid-1": "penut",
        "height_cm": "tall",
        "bans": "nutz and boltz",
    }
    page = browser.send(browser.get("/children/new"), "/children/new", status=422, **typed)
    faults = {address for address, _words in page.links if address.startswith("#")}
    assert {"#month", "#height_cm", "#avoid-1"} <= faults
    assert ("avoid-1", "penut") in page.form("/children/new").fields
    assert ("height_cm", "tall") in page.form("/children/new").fields
    page = browser.send(page, "/children/new", status=422, month="05", height_cm="118,5")
    assert (
        "#avoid-1",
        "“penut” is not known here. Did you mean peanut or pine nut? Type that instead. If it is not an allergen, put it under "
        "Dislikes: it is then not offered, but labels are not searched for it, so check them yourself.",
    ) in page.links
    page = browser.send(page, "/children/new", **{"avoid-1": "peanut", "bans": "nuts"})
    assert ("height_cm", "118.5") in page.form("/children/").fields


def test_a_second_child_of_the_same_nickname_is_refused(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    add_robin(browser)
    page = browser.send(browser.get("/children/new"), "/children/new", status=422, **ROBIN)
    assert any(address == "#nickname" for address, _words in page.links)


def test_names_are_shown_as_text(small_kitchen: Kitchen) -> None:
    browser = small_kitchen.browser()
    address = add_robin(browser, nickname=NASTY, dislikes=NASTY)
    for page in (browser.get(address), browser.get("/children"), browser.get(f"{address}/remove")):
        assert "<script>alert" not in page.html
        assert "&lt;script&gt;" in page.html
    assert f"<bdi>{'&lt;script&gt;alert(1)&lt;/script&gt;'}\u202eneb</bdi>" in browser.get("/children").html


def test_parts_that_the_form_does_not_show_stay(kitchen: Kitchen) -> None:
    child = kitchen.keep("children", {"nickname": "Ash", "standard": "us-school-lunch", "age_group": "grades-k-5"})
    browser = kitchen.browser()
    browser.send(browser.get(f"/children/{child}"), f"/children/{child}", vegetarian="yes", avoids="")
    kept = browser.client.get(f"/v1/children/{child}").json()
    assert (kept["age_group"], kept["vegetarian"], kept["birth_month"]) == ("grades-k-5", True, None)


def test_a_disliked_food_is_shown_by_its_name_and_kept_by_its_id(kitchen: Kitchen) -> None:
    asked = {"nickname": "Ash", "standard": "us-school-lunch", "age_group": "grades-k-5", "dislikes": ["carrots-raw"]}
    child = kitchen.keep("children", asked)
    browser = kitchen.browser()
    page = browser.get(f"/children/{child}")
    shown = dict(page.form(f"/children/{child}").fields)["dislikes"]
    assert "carrots-raw" not in shown
    browser.send(page, f"/children/{child}", dislikes=f"{shown}\nolives")
    assert browser.client.get(f"/v1/children/{child}").json()["dislikes"] == ["carrots-raw", "olives"]


def test_an_edit_that_was_overtaken_shows_both_and_can_be_saved_again(kitchen: Kitchen) -> None:
    rowan = f"/children/{kitchen.children['Rowan']}"
    mine, theirs = kitchen.browser(), kitchen.browser()
    page = mine.get(rowan)
    theirs.send(theirs.get(rowan), rowan, dislikes="celery")
    both = mine.send(page, rowan, status=409, dislikes="radish")
    assert "This was changed on another device meanwhile" in both.text
    assert "Yours radish There now celery" in both.text
    assert (rowan, "Keep what is there now") in both.links
    assert "celery" in theirs.get(rowan).html
    mine.send(both, rowan)
    assert "radish" in theirs.get(rowan).html


def test_a_child_is_removed_with_its_lunches_after_a_question(kitchen: Kitchen) -> None:
    rowan = f"/children/{kitchen.children['Rowan']}"
    browser = kitchen.browser()
    asked = browser.get(f"{rowan}/remove")
    assert "logged lunches" in asked.text
    assert "taken out of the plans" in asked.text
    after = browser.send(asked, f"{rowan}/remove")
    assert browser.address == "/children"
    assert "Rowan" not in after.text
    browser.get(rowan, 404)


@pytest.mark.parametrize(("rights", "see", "change"), [("pack", 200, 403), ("take", 403, 403)])
def test_other_devices_see_or_see_nothing_and_change_nothing(
    kitchen: Kitchen, rights: str, see: int, change: int
) -> None:
    rowan = f"/children/{kitchen.children['Rowan']}"
    child = kitchen.children["Rowan"] if rights == "take" else None
    browser = kitchen.browser(rights, child)
    for address in ("/children", rowan):
        page = browser.get(address, see)
        assert not any(form.action.startswith("/children") for form in page.forms)
    token = next(value for name, value in page.forms[-1].fields if name == "token")
    for address in ("/children/new", rowan, f"{rowan}/remove"):
        sent = browser.client.post(address, data={"token": token, **ROBIN}, headers=OURS)
        assert sent.status_code == change
    browser.get("/children/new", change)
    browser.get(f"{rowan}/remove", change)
    assert kitchen.browser().get(rowan).text


def test_what_is_banned_and_no_allergen_can_be_put_under_dislikes(kitchen: Kitchen) -> None:
    """All words are answered at once, and the page then says what is left out, or that nothing is."""
    rowan = f"/children/{kitchen.children['Rowan']}"
    browser = kitchen.browser()
    page = browser.send(browser.get(rowan), rowan, status=422, bans="sweets\npeanuts and tree nuts\ngum")
    said = [words for address, words in page.links if address == "#bans"]
    assert len(said) == 3
    assert said[0].startswith(
        "“sweets” is not the name of an allergen that is known here. If it is one, try its common name"
    )
    assert "Did you mean peanut or tree nuts? Type one per line." in said[1]
    bar = {"name": "choc bar", "serving": {"name": "bar", "grams": 30}, "facts": {"energy_kcal": 150}}
    kitchen.keep("foods", bar)
    page = browser.send(page, rowan, bans="peanut\ntree nuts", dislikes="cookies\nhot dog, candy floss\nbar\nkumquats")
    assert "cookies Not offered: chocolate chip cookie, oatmeal cookie, peanut butter cookie" in page.text
    assert "bar Not offered: oat and honey bar; choc bar" in page.text
    nothing = "No food or dish here has this name, so nothing is left out for it. Look for it under Foods"
    assert f"kumquats {nothing}" in page.text
    assert f"hot dog, candy floss {nothing}" in page.text
    assert ("/foods?q=kumquats", "Look for it under Foods") in page.links
