"""Promise: over HTTP, what a child avoids may be said in people's own words, in checks, screenings, offers and of a child."""

from typing import Any

import pytest

from tests.api.household.homes import Home
from tests.jobs.allergens.avoiding_cases import (
    CASES,
    LEFT_OUT_AS,
    MISSPELT,
    ON,
    Avoiding,
    audit,
    check,
    child,
    left_out_as,
    screening,
)

WAYS = {"/v1/lunch-checks": check, "/v1/allergen-screenings": screening, "/v1/offer-audits": audit}


def of(home: Home, path: str, body: Any) -> Any:
    answer = home.ask("POST", path, body)
    assert answer.status_code == 200, answer.text
    return answer.json()


@pytest.mark.parametrize("case", CASES, ids=str)
def test_each_way_says_the_same(home: Home, case: Avoiding) -> None:
    asked = (case.avoids, case.food, case.packets())
    assert of(home, "/v1/lunch-checks", check(*asked))["allergens"][0]["outcome"] == case.outcome
    assert of(home, "/v1/allergen-screenings", screening(*asked))["rows"][0]["outcome"] == case.outcome
    assert left_out_as(of(home, "/v1/offer-audits", audit(*asked))) == LEFT_OUT_AS[case.outcome]


@pytest.mark.parametrize("case", [CASES[4], CASES[5], CASES[6], CASES[11], CASES[12]], ids=str)
def test_a_stored_child_and_a_stored_packet_say_it_too(home: Home, case: Avoiding) -> None:
    kept = home.kept("/v1/children", child(case.avoids, standard="us-school-lunch", birth_month="2017-03"))
    for packet in case.packets():
        home.kept("/v1/packets", packet)
    body = {"on": ON, "child": kept, "lunch": {"items": [{"food": case.food}]}, "max_changes": 0}
    assert of(home, "/v1/lunch-checks", body)["allergens"][0]["outcome"] == case.outcome
    body = {"on": ON, "children": [kept], "items": [{"food": case.food}]}
    assert of(home, "/v1/allergen-screenings", body)["rows"][0]["outcome"] == case.outcome


@pytest.mark.parametrize(("words", "near"), MISSPELT)
def test_an_unknown_word_is_refused_with_near_names(home: Home, words: str, near: str) -> None:
    for path, body_of in WAYS.items():
        at = "#/child/avoids/0/allergen" if path == "/v1/lunch-checks" else "#/children/0/avoids/0/allergen"
        refused = home.ask("POST", path, body_of(words, "apple", []))
        assert refused.status_code == 422
        (error,) = refused.json()["errors"]
        assert (error["pointer"], error["value"]) == (at, words)
        assert near in error["detail"] + error["remedy"]
    stored = home.ask("POST", "/v1/children", child(words, standard="us-school-lunch", birth_month="2017-03"))
    assert stored.status_code == 422
    (error,) = stored.json()["errors"]
    assert (error["pointer"], error["value"]) == ("#/avoids/0/allergen", words)
    assert near in error["detail"] + error["remedy"]
    assert home.ask("GET", "/v1/children").json()["items"] == []
