"""What must be kept away: names resolved, the stricter threshold, every fault together."""

import pytest

from service.domain.errors import LunchError
from service.jobs.allergens.avoidances import avoidances_of
from service.jobs.allergens.screen_family import screen_family
from service.jobs.requests.people import Child, Setting
from service.jobs.requests.screenings import ScreeningRequest


@pytest.mark.parametrize("thresholds", [["contains", "may_contain"], ["may_contain", "contains"]])
@pytest.mark.parametrize("names", [["milk", "milk"], ["milk", "Milk"]])
def test_of_an_allergen_listed_twice_the_stricter_threshold_holds(thresholds: list[str], names: list[str]) -> None:
    avoids = [{"allergen": name, "threshold": one} for name, one in zip(names, thresholds, strict=True)]
    (found,) = avoidances_of(Child.model_validate({"avoids": avoids}), Setting())
    assert (found.allergen, found.threshold) == ("milk", "may_contain")


def test_unknown_names_are_reported_together_each_at_its_place() -> None:
    child = Child.model_validate({"avoids": [{"allergen": "milk"}, {"allergen": "peanutt"}]})
    with pytest.raises(LunchError) as caught:
        avoidances_of(child, Setting(bans=["xyzzy"]), ("children", 3))
    assert [one.pointer for one in caught.value.faults()] == ["/children/3/avoids/1/allergen", "/setting/bans/0"]


def test_a_warning_on_a_label_for_nuts_holds_for_each_of_them() -> None:
    bar = {"name": "oat bar", "serving": {"grams": 30}, "ingredients": "Oats.", "may_contain": "Tree nuts, almond."}
    asked = {"children": [{"nickname": "a", "avoids": [{"allergen": "walnut"}]}], "items": [{"food": bar}]}
    (row,) = screen_family(ScreeningRequest.model_validate(asked))["rows"]
    assert (row["outcome"], row["do_not_pack"]) == ("may_contain", True)


def test_a_screening_names_the_things_and_foods_as_they_were_sent() -> None:
    own = {"name": "apple", "serving": {"grams": 30}, "ingredients": "Apple, milk."}
    asked = {
        "children": [{"nickname": "a", "avoids": [{"allergen": "milk"}]}],
        "items": [
            {"food": "apple", "id": "one"},
            {"id": "two", "lunch": [{"food": "apple"}, {"food": own, "id": "x"}]},
        ],
    }
    reply = screen_family(ScreeningRequest.model_validate(asked))
    assert [(row["place"], row["item_id"], row["outcome"]) for row in reply["rows"]] == [
        (0, "one", "not_declared"),
        (1, "two", "avoid"),
    ]
    (found,) = reply["rows"][1]["findings"]
    assert (found["item"], found["item_id"]) == (1, "x")
    assert [step["places"] for step in reply["making_order"]] == [[0, 1], [1]]


def test_every_fault_of_a_screening_is_reported_together() -> None:
    asked = {
        "children": [{"nickname": "a", "avoids": [{"allergen": "qqqq"}]}, {"nickname": "a", "avoids": []}],
        "items": [{"food": "aple"}, {"lunch": [{"food": "apple"}, {"food": "bred"}, {"food": "mlik"}]}],
        "setting": {"bans": ["xyzzy"]},
    }
    with pytest.raises(LunchError) as caught:
        screen_family(ScreeningRequest.model_validate(asked))
    assert [one.pointer for one in caught.value.faults()] == [
        "/items/0/food",
        "/items/1/lunch/1/food",
        "/items/1/lunch/2/food",
        "/setting/bans/0",
        "/children/0/avoids/0/allergen",
        "/children/1/nickname",
    ]
