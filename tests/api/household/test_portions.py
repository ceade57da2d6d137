"""A stored offer with an amount per child: kept by the child's id, judged and taken in that amount, forgotten with the child."""

import json
from datetime import date
from pathlib import Path
from typing import Any

from service.jobs.household.offers.taking import choice_of, items_taken
from service.store.database import Store
from tests.api.household.homes import Home, child_body, today
from tests.api.problems_seen import problem_of

OLDER = {"birth_month": "2011-03"}


def offer_body(*portions: dict[str, Any], name: str = "mornings") -> dict[str, Any]:
    """Something to drink, and crackers in the amounts of some children."""
    crackers = {"food": "crackers-graham", "quantity": 2, "portions": list(portions)}
    return {
        "name": name,
        "groups": [
            {"id": "snacks", "items": [crackers, {"food": "apple"}]},
            {"id": "drinks", "items": [{"food": "milk-1-percent"}]},
        ],
    }


def energy_of(home: Home, offer: Any, *children: str) -> list[float]:
    """The largest energy of a lunch for each child."""
    body = {"on": today(), "offer": offer, "children": list(children), "max_changes": 0, "examples": 0}
    answer = home.ask("POST", "/v1/offer-audits", body)
    assert answer.status_code == 200, answer.text
    return [one["measures"]["energy_kcal"]["largest"] for one in answer.json()["children"]]


def test_an_amount_stays_with_its_child_under_another_name(home: Home) -> None:
    young, old = (
        home.kept("/v1/children", child_body("Wren", avoids=[])),
        home.kept("/v1/children", child_body("Robin", **OLDER, avoids=[])),
    )
    plain = home.kept("/v1/offers", offer_body(name="plain"))
    offer = home.kept("/v1/offers", offer_body({"child": old, "quantity": 6}))
    first, second = energy_of(home, plain, young, old)
    assert energy_of(home, offer, young, old) == [first, energy_of(home, offer, old)[0]]
    assert energy_of(home, offer, old)[0] > second
    assert energy_of(home, offer, young) == [first]
    home.ask("PATCH", f"/v1/children/{old}", {"nickname": "Rob"}, if_match="*")
    assert energy_of(home, offer, old)[0] > second


def test_an_offer_sent_along_may_name_a_stored_child_by_id_or_nickname(home: Home) -> None:
    old = home.kept("/v1/children", child_body("Robin", **OLDER, avoids=[]))
    sent = {"groups": offer_body({"child": old, "quantity": 6})["groups"]}
    named = {"groups": offer_body({"child": "Robin", "quantity": 6})["groups"]}
    assert energy_of(home, sent, old) == energy_of(home, named, old)


def test_an_amount_of_a_child_that_is_not_here_is_refused(home: Home) -> None:
    home.kept("/v1/children", child_body("Robin"))
    stranger = {"child": "11111111-1111-4111-8111-111111111111", "quantity": 6}
    told = problem_of(home.ask("POST", "/v1/offers", offer_body(stranger)), 404, "not-there")
    assert told["errors"][0]["pointer"] == "#/groups/0/items/0/portions/0/child"
    by_name = offer_body({"child": "Robin", "quantity": 6})
    told = problem_of(home.ask("POST", "/v1/offers", by_name), 422, "bad-input")
    assert "not the id of a stored child" in str(told)
    assert "Robin" not in str(told)


def test_an_amount_that_cannot_be_is_refused_before_anything_is_kept(home: Home) -> None:
    child = home.kept("/v1/children", child_body("Robin"))
    for portions, slug, place in (
        ([{"child": child, "quantity": 9_999}], "bad-amount", "#/groups/0/items/0/portions/0/quantity"),
        (
            [{"child": child, "quantity": 1}, {"child": child, "quantity": 2}],
            "bad-input",
            "#/groups/0/items/0/portions/1/child",
        ),
        ([{"child": child, "quantity": 0}], "invalid-request", "#/groups/0/items/0/portions/0/quantity"),
    ):
        told = problem_of(home.ask("POST", "/v1/offers", offer_body(*portions)), 422, slug)
        assert told["errors"][0]["pointer"] == place
    assert home.ask("GET", "/v1/offers").json()["items"] == []


def test_a_child_that_goes_is_forgotten_from_offers(home: Home) -> None:
    stays, goes = (
        home.kept("/v1/children", child_body("Wren", avoids=[])),
        home.kept("/v1/children", child_body("Robin")),
    )
    both = [{"child": stays, "quantity": 3}, {"child": goes, "quantity": 6}]
    offer = home.kept("/v1/offers", offer_body(*both))
    other = home.kept("/v1/offers", offer_body(name="plain"))
    assert home.ask("DELETE", f"/v1/children/{goes}", if_match="*").status_code == 204
    answer = home.ask("GET", f"/v1/offers/{offer}")
    assert answer.json()["groups"][0]["items"][0]["portions"] == both[:1]
    assert answer.headers["etag"] == '"2"'
    assert home.ask("GET", f"/v1/offers/{other}").headers["etag"] == '"1"'


def test_a_child_takes_its_own_amount(home: Home, store: Store) -> None:
    young, old = (
        home.kept("/v1/children", child_body("Wren", avoids=[])),
        home.kept("/v1/children", child_body("Robin", **OLDER, avoids=[])),
    )
    offer = home.kept("/v1/offers", offer_body({"child": old, "quantity": 6}))
    taken = [("snacks", "crackers-graham"), ("drinks", "milk-1-percent")]
    on = date.fromisoformat(today())
    with store.reading() as connection:
        for child, quantity in ((young, 2), (old, 6)):
            shown = choice_of(connection, home.id, child, offer, on, [])["groups"][0]["items"][0]
            assert shown["quantity"] == quantity
            assert items_taken(connection, home.id, child, offer, on, taken)[0]["quantity"] == quantity


def test_what_a_design_finds_is_stored_as_it_is(home: Home) -> None:
    """With ids of stored children and own foods in it: the stored offer is judged as the design says."""
    young, old = (
        home.kept("/v1/children", child_body("Wren", avoids=[])),
        home.kept("/v1/children", child_body("Robin", **OLDER, avoids=[])),
    )
    own = home.kept("/v1/foods", {"name": "oat bar", "serving": {"grams": 40}, "facts": {"energy_kcal": 170}})
    example = Path(__file__).parents[3] / "openapi_examples/design-offer/two-of-each-for-three.request.json"
    body = json.loads(example.read_text())
    body["groups"][0]["items"].append({"food": own})
    body |= {"children": [young, old]}
    answer = home.ask("POST", "/v1/offer-designs", body)
    assert answer.status_code == 200, answer.text
    found = answer.json()
    assert found["found"], found["sentence"]
    offer = home.kept("/v1/offers", {**found["offer"], "name": "found"})
    audit = {name: body[name] for name in ("on", "holding", "packets")}
    rows = home.ask("POST", "/v1/offer-audits", {**audit, "offer": offer, "children": [young, old]}).json()["children"]
    assert [one["right_once_read"] for one in rows] == [one["right_once_read"] for one in found["children"]]
    assert [one["right_once_read"] for one in rows] == [one["total"] for one in rows]
