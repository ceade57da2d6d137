"""A new household: three short steps to a first offer, looked at for each child."""

import re
from datetime import date

import pytest

from service.jobs.household.days.school_days import offer_of_day
from service.jobs.household.offers.set_out import weeks_of
from tests.web.kitchens import OURS, Browser, Kitchen
from tests.web.reading import Page, ReadForm


def post(page: Page, action: str) -> ReadForm:
    """The form that is posted to an address."""
    return next(one for one in page.forms if one.method == "post" and one.action == action)


def born(on: date, years: int) -> dict[str, str]:
    """A month of birth, as it is chosen."""
    return {"year": str(on.year - years), "month": f"{on.month:02}"}


def with_child(parent: Browser, on: date) -> None:
    """Robin, of school age in the United States."""
    page = parent.get("/start")
    parent.send(page, "/start", nickname="Robin", standard="us-school-lunch", **born(on, 8))


def test_three_steps_lead_to_a_first_offer_that_is_looked_at(new_kitchen: Kitchen, on: date) -> None:
    parent = new_kitchen.browser()
    assert parent.address == "/start"
    with_child(parent, on)
    page = parent.get("/start/avoids")
    assert "You then find a short list of packets to read." in page.text
    page = parent.send(page, "/start/avoids", **{"avoid-0": ["peanut"], "more-0": "kiwi fruit"})
    assert parent.address == "/start/foods"
    form = post(page, "/start/foods")
    ticked = {
        "food-main": ["sandwich-turkey-cheese", "wrap-bean-cheese"],
        "food-fruit": ["apple", "banana"],
        "food-vegetable": ["carrots-raw", "cucumber"],
        "food-drink": ["milk-1-percent"],
    }
    sent = form.data(insulated="yes", packs="2", hours="4", set_out="yes", **ticked)
    parent.last = parent.client.post(form.action, data=sent, headers=OURS)
    text = Page(parent.last.text).text
    offer = parent.address.rsplit("/", 1)[-1]
    assert "school mornings" in text
    assert "of 56 ready" in text  # two mains, fruits and vegetables, a drink, and none, one or two of three extras
    days = [day for week in weeks_of(on) for day in week if day >= on]
    with new_kitchen.store.reading() as connection:
        assert {offer_of_day(connection, new_kitchen.id, day) for day in days} == {offer}
    child = parent.client.get("/v1/children").json()["items"][0]
    assert [one["allergen"] for one in child["avoids"]] == ["peanut", "kiwi fruit"]
    assert {one["threshold"] for one in child["avoids"]} == {"may_contain"}
    assert parent.client.get("/v1/household").json()["holding"]["cold_sources"] == 2
    assert "Robin" in parent.get("/").text


def test_the_foods_ticked_at_first_are_those_of_the_childs_country(new_kitchen: Kitchen, on: date) -> None:
    parent = new_kitchen.browser()
    page = parent.get("/start")
    parent.send(page, "/start", nickname="Sora", standard="jp-school-lunch", **born(on, 8))
    assert post(parent.get("/start/foods"), "/start/foods").data()["food-main"] == ["onigiri", "rice-bowl-chicken"]
    british = post(parent.get("/start/foods?country=GB"), "/start/foods").data()
    assert "sandwich-cheese" in british["food-main"]


NOTHING_LEFT = "Nothing is left in"


def first_offer(parent: Browser) -> str:
    """The text of the page of the first offer, made of what is ticked at first; cold packs are in the bag."""
    form = post(parent.get("/start/foods"), "/start/foods")
    parent.last = parent.client.post(form.action, data=form.data(insulated="yes", packs="2", hours="4"), headers=OURS)
    assert parent.last.status_code == 200
    return Page(parent.last.text).text


@pytest.mark.parametrize(
    "standard",
    [
        "gb-eng-school-food-2014",
        "au-vic-healthy-lunchbox",
        "ca-nl-school-lunch",
        "us-school-lunch",
        "gb-sct-school-lunch",
        "jp-school-lunch",
    ],
)
@pytest.mark.parametrize("avoids", [["milk", "wheat"], ["milk"], ["wheat"], ["egg"], ["milk", "wheat", "egg"]])
def test_the_first_offer_has_lunches_for_a_child_that_must_avoid_much(
    new_kitchen: Kitchen, on: date, standard: str, avoids: list[str]
) -> None:
    """Some are ready before any packet is read, and no group is empty for the child; water is not milk, and that is in order."""
    parent = new_kitchen.browser()
    parent.send(parent.get("/start"), "/start", nickname="Robin", standard=standard, **born(on, 8))
    parent.send(parent.get("/start/avoids"), "/start/avoids", **{"avoid-0": avoids})
    text = first_offer(parent)
    ready = re.search(r"(\d+) of (\d+) ready", text)
    assert ready is not None, text
    assert int(ready[1]) > 0, text
    assert NOTHING_LEFT not in text
    assert "not enough milk" not in text.lower()


def test_a_food_says_for_whom_it_is_not_and_stays_ticked_for_the_others(new_kitchen: Kitchen, on: date) -> None:
    """One child avoids milk, the other nothing: the cheese sandwich stays, and something else is ticked beside it."""
    parent = new_kitchen.browser()
    for name in ("Robin", "Wren"):
        page = parent.get("/start")
        parent.send(page, "/start", nickname=name, standard="gb-sct-school-lunch", **born(on, 8))
    parent.send(parent.get("/start/avoids"), "/start/avoids", **{"avoid-0": ["milk"]})
    page = parent.get("/start/foods")
    ticked = post(page, "/start/foods").data()
    assert {"sandwich-cheese", "rice-chicken-sweetcorn"} <= set(ticked["food-main"])
    assert "cheese sandwich not for Robin" in page.text
    assert "for Robin: read the packet first" in page.text
    assert "Wren" not in page.text
    text = first_offer(parent)
    assert NOTHING_LEFT not in text


def test_what_no_child_may_have_is_not_ticked_until_its_packet_was_read(new_kitchen: Kitchen, on: date) -> None:
    """A packet read before the offer is made counts: what it clears is for the child."""
    parent = new_kitchen.browser()
    with_child(parent, on)
    parent.send(parent.get("/start/avoids"), "/start/avoids", **{"avoid-0": ["milk"]})
    before = parent.get("/start/foods")
    assert "milk-1-percent" not in post(before, "/start/foods").data()["food-drink"]
    soy = "soy drink, unsweetened, fortified"
    assert f"{soy} 1 cup for Robin: read the packet first" in before.text
    new_kitchen.keep(
        "packets",
        {
            "food": "soy-drink-unsweetened",
            "read_on": on.isoformat(),
            "ingredients": "Water, soya beans.",
            "may_contain": "",
        },
    )
    after = parent.get("/start/foods")
    assert f"{soy} 1 cup for Robin: read the packet first" not in after.text
    assert "soy-drink-unsweetened" in post(after, "/start/foods").data()["food-drink"]


def test_what_is_missing_is_said_and_what_was_typed_stays(new_kitchen: Kitchen, on: date) -> None:
    parent = new_kitchen.browser()
    page = parent.send(
        parent.get("/start"), "/start", status=422, nickname="Robin", year="2018", standard="us-school-lunch"
    )
    assert "Choose the month and the year the child was born in." in page.text
    assert post(page, "/start").data()["nickname"] == ["Robin"]
    page = parent.send(parent.get("/start"), "/start", status=422)
    assert "Give a nickname, such as Robin." in page.text
    assert "Choose the rules to compare with." in page.text
    fields = [address for address, _words in page.links if address in ("#nickname", "#month", "#standard")]
    assert fields == ["#nickname", "#month", "#standard"]  # in the order of the form
    assert parent.client.get("/v1/children").json()["items"] == []


def test_figures_that_do_not_speak_of_the_age_are_refused_before_the_child_is_stored(
    new_kitchen: Kitchen, on: date
) -> None:
    parent = new_kitchen.browser()
    page = parent.send(
        parent.get("/start"), "/start", status=422, nickname="Kit", standard="jp-school-lunch", **born(on, 2)
    )
    assert "These rules do not cover that age" in page.text
    assert parent.client.get("/v1/children").json()["items"] == []


def test_a_nickname_that_is_taken_is_said_with_what_to_do(new_kitchen: Kitchen, on: date) -> None:
    parent = new_kitchen.browser()
    robin = {"nickname": "Robin", "standard": "us-school-lunch", **born(on, 8)}
    parent.send(parent.get("/start"), "/start", **robin)
    page = parent.send(parent.get("/start"), "/start", status=422, **robin)
    assert "There is a child called Robin already. Give this one another nickname." in page.text


def test_each_child_has_the_list_of_its_own_country_to_tick(new_kitchen: Kitchen, on: date) -> None:
    """Source: 21 USC 321(qq): nine; retained Regulation (EU) 1169/2011, annex II: fourteen, celery and mustard among them."""
    parent = new_kitchen.browser()
    for name, standard in (
        ("Robin", "us-school-lunch"),
        ("Wren", "gb-eng-school-food-2014"),
        ("Jay", "au-vic-healthy-lunchbox"),
    ):
        parent.send(parent.get("/start"), "/start", nickname=name, standard=standard, **born(on, 8))
    page = parent.get("/start/avoids")
    ticks = [set(re.findall(rf'name="avoid-{number}" value="([^"]+)"', page.html)) for number in range(3)]
    assert [[one in some for one in ("peanut", "celery", "mustard", "lupin", "wheat")] for some in ticks] == [
        [True, False, False, False, True],
        [True, True, True, True, False],
        [True, False, False, True, True],
    ]
    parent.send(page, "/start/avoids", **{"avoid-1": ["celery"], "avoid-2": ["lupin"]})
    again = post(parent.get("/start/avoids"), "/start/avoids").data()
    assert (again["avoid-1"], again["more-1"], again["avoid-2"]) == (["celery"], [""], ["lupin"])


def test_words_that_are_not_known_are_said_and_kept(new_kitchen: Kitchen, on: date) -> None:
    parent = new_kitchen.browser()
    with_child(parent, on)
    page = parent.send(
        parent.get("/start/avoids"), "/start/avoids", status=422, **{"avoid-0": ["egg"], "more-0": "moon dust"}
    )
    said = "“moon dust” is no allergen that is known here, so leave it out of this list. Put it under Dislikes"
    assert [words for address, words in page.links if address == "#more-0" and words.startswith(said)], page.links
    assert "Load the page again" not in page.text
    near = parent.send(page, "/start/avoids", status=422, **{"avoid-0": ["egg"], "more-0": "penut\nmoon dust"})
    assert "“penut” is not known here. Did you mean peanut or pine nut?" in near.text
    assert "“moon dust” is no allergen that is known here" in near.text
    form = post(page, "/start/avoids").data()
    assert (form["avoid-0"], form["more-0"]) == (["egg"], ["moon dust"])
    assert parent.client.get("/v1/children").json()["items"][0]["avoids"] == []


def test_a_child_changed_meanwhile_is_asked_about_again_with_the_ticks_kept(new_kitchen: Kitchen, on: date) -> None:
    parent, other = new_kitchen.browser(), new_kitchen.browser()
    with_child(parent, on)
    mine, theirs = parent.get("/start/avoids"), other.get("/start/avoids")
    other.send(theirs, "/start/avoids", **{"avoid-0": ["milk"]})
    both = parent.send(mine, "/start/avoids", status=409, **{"avoid-0": ["egg"]})
    assert "Another device has changed Robin meanwhile." in both.text
    assert post(both, "/start/avoids").data()["avoid-0"] == ["egg"]
    assert [one["allergen"] for one in parent.client.get("/v1/children").json()["items"][0]["avoids"]] == ["milk"]


def test_nothing_ticked_is_no_offer(new_kitchen: Kitchen, on: date) -> None:
    parent = new_kitchen.browser()
    with_child(parent, on)
    form = post(parent.get("/start/foods"), "/start/foods")
    sent = {name: value for name, value in form.data().items() if not name.startswith("food-")}
    refused = parent.client.post(form.action, data=sent, headers=OURS)
    assert refused.status_code == 422
    assert "Tick what you usually set out." in refused.text
    assert parent.client.get("/v1/offers").json()["items"] == []
    assert parent.client.get("/v1/household").json()["holding"] is None


def test_a_household_with_offers_begins_a_new_one_in_the_same_way(kitchen: Kitchen) -> None:
    parent = kitchen.browser()
    page = parent.get("/start/foods")
    assert "A new offer" in page.text
    form = post(page, "/start/foods")
    parent.last = parent.client.post(form.action, data=form.data(name="trial"), headers=OURS)
    assert "trial" in Page(parent.last.text).text
    form = post(parent.get("/start/foods"), "/start/foods")
    again = parent.client.post(form.action, data=form.data(name="trial"), headers=OURS)
    assert again.status_code == 422
