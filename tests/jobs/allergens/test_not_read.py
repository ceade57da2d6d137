"""A label or packet that was given and could not be read is said so, with what to do, wherever foods are judged."""

from typing import Any

from service.jobs.allergens.screen_family import screen_family
from service.jobs.lunch.check_lunch import check_lunch
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.requests.screenings import ScreeningRequest

DAY = "2026-11-20"
RUSSIAN = "Сахар, пшеничная мука, молоко"


def label(text: str) -> dict[str, Any]:
    return {"name": "biscuit", "serving": {"grams": 30}, "facts": {}, "ingredients": text}


def packet(text: str) -> dict[str, Any]:
    return {"food": "hummus", "read_on": DAY, "ingredients": text}


def screened(items: list[Any], packets: list[Any]) -> dict[str, Any]:
    asked = {
        "children": [{"nickname": "a", "avoids": [{"allergen": "milk"}]}],
        "items": [{"food": item} for item in items],
        "packets": packets,
        "on": DAY,
    }
    return screen_family(ScreeningRequest.model_validate(asked))


def of_not_read(reply: dict[str, Any]) -> list[dict[str, Any]]:
    return [one for one in reply["caution_messages"] if one["code"] == "caution.not-read"]


def test_a_screening_says_which_labels_could_not_be_read() -> None:
    reply = screened([label(RUSSIAN), label("Sugar, salt")], [])
    (said,) = of_not_read(reply)
    assert said["params"]["item"] == "biscuit"
    assert said["params"]["seen"]["code"] == "evidence.not-read"
    assert said["params"]["seen"]["params"] == {"unknown": 4, "words": 4}
    assert any("4 of 4 words unknown" in one for one in reply["cautions"])


def test_a_text_that_is_no_list_is_said_to_be_none() -> None:
    (said,) = of_not_read(screened([label("See pack")], []))
    assert said["params"]["seen"]["code"] == "evidence.no-list"


def test_a_packet_that_could_not_be_read_settles_nothing_and_says_so() -> None:
    before, after = screened(["hummus"], []), screened(["hummus"], [packet(RUSSIAN)])
    assert [row["outcome"] for row in after["rows"]] == [row["outcome"] for row in before["rows"]]
    assert of_not_read(after)
    assert not of_not_read(before)
    assert not of_not_read(screened(["hummus"], [packet("Chickpeas, tahini, salt")]))
    assert "could not be read" in after["rows"][0]["findings"][0]["evidence"]


def test_a_lunch_check_says_it_of_a_food_in_a_dish_too() -> None:
    dish = {"name": "snack", "ingredients": [{"food": label(RUSSIAN), "grams": 30}, {"food": "apple", "grams": 50}]}
    lunch = {
        "child": {"age_group": "grades-k-5"},
        "standard": "us-school-lunch",
        "on": DAY,
        "lunch": {"items": [{"food": dish, "quantity": 80, "unit": "g"}]},
    }
    reply = check_lunch(LunchCheckRequest.model_validate(lunch))
    assert len(of_not_read(reply)) == 1
