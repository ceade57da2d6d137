"""A child of whose age its rules do not speak, a baby or one that has left school, takes no page from the rest of the family."""

from datetime import date, timedelta

import pytest

from service.jobs.household.kinds import CHILDREN
from service.jobs.household.offers.set_out import weeks_of
from service.jobs.household.records import edit_record
from service.jobs.weeks.requests import week_of
from tests.web.kitchens import Kitchen

MONTHS_OLD = {"baby": 5, "grown": 20 * 12}


@pytest.fixture(params=list(MONTHS_OLD))
def outgrown(request: pytest.FixtureRequest, kitchen: Kitchen, on: date) -> Kitchen:
    """Rowan is too young, or by now too old, for the rules of school lunches."""
    months = on.year * 12 + on.month - 1 - MONTHS_OLD[request.param]
    parts = b'{"birth_month": "%04d-%02d", "age_group": null}' % (months // 12, months % 12 + 1)
    with kitchen.store.writing() as connection:
        edit_record(connection, CHILDREN, kitchen.id, kitchen.children["Rowan"], lambda _v: None, parts, None)
    kitchen.set_out("usual mornings", on)
    return kitchen


def test_today_stands_for_the_others_and_says_what_to_change(outgrown: Kitchen) -> None:
    """The whole page was "That did not work", for everybody."""
    rowan, parent = outgrown.children["Rowan"], outgrown.browser()
    page = parent.get("/")
    assert "It is not known whether the foods set out make a lunch for Rowan." in page.text
    assert (f"/children/{rowan}", "Change what is stored about Rowan") in page.links
    assert "Read the packet of black beans, cooked, no salt, for Linden" in page.text
    assert (
        "No se puede saber si lo que se ofrece forma un almuerzo para Rowan."
        in outgrown.browser(language="es").get("/").text
    )


def test_the_childs_own_pages_say_why_or_still_log_the_day(outgrown: Kitchen, on: date) -> None:
    rowan, parent = outgrown.children["Rowan"], outgrown.browser()
    for device in (parent, outgrown.browser("take", rowan)):
        assert "There is nothing here for you to take. Ask a grown-up." in device.get(f"/take/{rowan}").text
    later = on + timedelta(weeks=2)
    outgrown.set_out("usual mornings", later)
    week = parent.get(f"/week/{rowan}?week={week_of(later)}", 422).text
    assert "This cannot be shown yet Something that is stored has to be changed first:" in week
    day = f"/week/{rowan}/{later}"
    parent.send(parent.get(day), day, "Save", status=422, kind="none")  # the week that it goes on to cannot be shown
    logged = outgrown.lunch(rowan, later)
    assert logged is not None
    assert logged["kind"] == "none"


def test_no_page_names_a_place_in_a_request(outgrown: Kitchen, on: date) -> None:
    """It said "/child/age_months: '10 months' is an age that us-school-lunch does not cover"."""
    parent, later = outgrown.browser(), weeks_of(on + timedelta(weeks=2), 1)[0][0]
    offer = outgrown.set_out("usual mornings", later)
    fridge = f"/set-out/fridge?week={later}"
    for address in ("/", f"/week?week={week_of(later)}", fridge, f"/set-out/{offer}", f"/set-out/{offer}/cards"):
        text = parent.get(address).text
        assert "/child" not in text
        assert "us-school-lunch" not in text
        assert "school lunch rules chosen for this child have no age group" in text or "19 years old" in text
    assert ">cannot tell</td>" in parent.get(fridge).html
