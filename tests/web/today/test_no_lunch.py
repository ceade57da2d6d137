"""Today says for whom there is no lunch in what is set out, before the child stands there; the child's page offers no half of one."""

from datetime import date

import pytest

from tests.web.kitchens import Kitchen

GROUPS = [
    {"id": "main", "items": [{"food": "sandwich-cheese"}, {"food": "pasta-cooked"}]},
    {"id": "fruit", "items": [{"food": "apple"}]},
]
NO_LUNCH = "What is set out makes no lunch that Ash may have."


@pytest.fixture
def banned(new_kitchen: Kitchen, on: date) -> Kitchen:
    """Ash's class allows no wheat, which is in both mains; Birch may have all of it."""
    child = {"standard": "us-school-lunch", "age_group": "grades-k-5"}
    new_kitchen.children["Ash"] = new_kitchen.keep("children", {**child, "nickname": "Ash", "bans": ["wheat"]})
    new_kitchen.children["Birch"] = new_kitchen.keep("children", {**child, "nickname": "Birch"})
    offer = new_kitchen.keep("offers", {"name": "mornings", "groups": GROUPS})
    new_kitchen.keep("school_days", {"date": on.isoformat(), "offer": offer})
    return new_kitchen


def test_who_finds_no_lunch_is_named_with_what_to_do(banned: Kitchen) -> None:
    parent = banned.browser()
    page = parent.get("/")
    assert f"{NO_LUNCH} Set out more foods that they may have, or another offer. Open mornings" in page.text
    offer = next(address for address, words in page.links if words == "Open mornings")
    assert "no lunch possible" in parent.get(offer).text


def test_nothing_is_offered_to_a_child_that_cannot_take_a_lunch(banned: Kitchen) -> None:
    parent = banned.browser()
    page = parent.get(f"/take/{banned.children['Ash']}")
    assert "There is nothing here for you to take. Ask a grown-up." in page.text
    assert "You have enough" not in page.text
    assert "apple" in parent.get(f"/take/{banned.children['Birch']}").text


def test_reading_packets_may_give_the_child_a_lunch(kitchen: Kitchen, on: date) -> None:
    """Of the mains the class leaves Linden the pot of beans alone, of which two packets were not read."""
    kitchen.set_out("usual mornings", on)
    parent, linden = kitchen.browser(), f"/children/{kitchen.children['Linden']}"
    parent.send(parent.get(linden), linden, bans="peanut\nwheat")
    page = parent.get("/")
    assert "What is set out makes no lunch that Linden may have. Read the packets named here first" in page.text
    assert "Read the packet of black beans" in page.text
    parent.send(parent.get(linden), linden, dislikes="rice")
    assert "Linden may have. Set out more foods that they may have" in parent.get("/").text
