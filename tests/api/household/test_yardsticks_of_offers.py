"""Promise: a stored child's own yardsticks stand beside the offers that it is audited for."""

from tests.api.household.homes import Home, child_body, food_body, offer_body, today

WHO = "who-free-sugars-2015"


def test_a_stored_child_brings_its_yardsticks_to_an_audit(home: Home) -> None:
    offer = home.kept("/v1/offers", offer_body(home.kept("/v1/foods", food_body())))
    children = [
        home.kept("/v1/children", child_body("Juniper", yardsticks=[WHO])),
        home.kept("/v1/children", child_body("Rowan")),
    ]
    answer = home.ask("POST", "/v1/offer-audits", {"on": today(), "offer": offer, "children": children})
    assert answer.status_code == 200, answer.text
    juniper, rowan = answer.json()["children"]
    assert [one["id"] for one in juniper["yardsticks"]] == [WHO]
    assert juniper["yardsticks"][0]["unknown"] == juniper["total"]  # the bar's label says nothing of free sugars
    assert rowan["yardsticks"] == []
