"""Promise: a creation sent again with its Idempotency-Key is answered again, and carried out once.

The header is that of draft-ietf-httpapi-idempotency-key-header: a String of RFC 8941; 422 where a key comes with another
request.
"""

import threading
from datetime import timedelta
from typing import Any

import pytest

from service.store import kept_replies
from service.store.database import Store
from tests.api.household.homes import Home, child_body, food_body, lunch_body, price_body, recipe_body, today
from tests.api.problems_seen import problem_of

KEY = '"8e03978e-40d5-43dd-bc93-6894a57f9324"'


def test_the_same_request_has_the_same_reply(home: Home) -> None:
    """Status, body, address and version; there is one child."""
    first = home.ask("POST", "/v1/children", child_body(), idempotency_key=KEY)
    again = home.ask("POST", "/v1/children", child_body(), idempotency_key=KEY)
    assert first.status_code == again.status_code == 201
    assert first.content == again.content
    for name in ("etag", "location", "content-type"):
        assert first.headers[name] == again.headers[name]
    assert len(home.ask("GET", "/v1/children").json()["items"]) == 1


def test_a_lunch_is_logged_once(home: Home) -> None:
    """With its check and screening."""
    child = home.kept("/v1/children", child_body())
    body = lunch_body(child, today())
    first, again = (home.ask("POST", "/v1/lunches", body, idempotency_key=KEY) for _ in range(2))
    assert first.status_code == 201
    assert first.json()["check"]["verdict"]
    assert again.json() == first.json()


def test_without_the_header_it_is_carried_out_again(home: Home) -> None:
    """And then the name is taken."""
    home.kept("/v1/children", child_body())
    problem_of(home.ask("POST", "/v1/children", child_body()), 409, "already-there")


@pytest.mark.parametrize(("path", "body"), [("/v1/children", child_body("Rowan")), ("/v1/foods", food_body())])
def test_another_request_with_the_key_is_422(home: Home, path: str, body: Any) -> None:
    """Another body, or another address."""
    home.ask("POST", "/v1/children", child_body(), idempotency_key=KEY)
    problem_of(home.ask("POST", path, body, idempotency_key=KEY), 422, "idempotency-key-reused", path)
    assert len(home.ask("GET", "/v1/children").json()["items"]) == 1


def test_a_request_that_failed_may_be_mended_and_sent_again(home: Home) -> None:
    """Only what was kept is remembered."""
    spoilt = child_body(standard="us-scool-lunch")
    assert home.ask("POST", "/v1/children", spoilt, idempotency_key=KEY).status_code == 422
    assert home.ask("POST", "/v1/children", child_body(), idempotency_key=KEY).status_code == 201


def test_the_key_is_the_households_own(home: Home, neighbours: Home) -> None:
    """Two households may use the same."""
    first = home.ask("POST", "/v1/children", child_body(), idempotency_key=KEY)
    other = neighbours.ask("POST", "/v1/children", child_body(), idempotency_key=KEY)
    assert other.status_code == 201
    assert other.json()["id"] != first.json()["id"]


def test_after_a_day_it_is_forgotten(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    """At the earliest after 24 hours: it is marked by the next creation then, and goes with one a day later."""
    home.ask("POST", "/v1/children", child_body(), idempotency_key=KEY)
    real = kept_replies.now
    monkeypatch.setattr(kept_replies, "now", lambda: real() + timedelta(hours=23, minutes=59))
    assert home.ask("POST", "/v1/children", child_body(), idempotency_key=KEY).status_code == 201
    monkeypatch.setattr(kept_replies, "now", lambda: real() + timedelta(hours=24, seconds=1))
    home.ask("POST", "/v1/children", child_body("Hazel"), idempotency_key='"another"')
    assert home.ask("POST", "/v1/children", child_body(), idempotency_key=KEY).status_code == 201
    monkeypatch.setattr(kept_replies, "now", lambda: real() + timedelta(hours=48, seconds=2))
    home.ask("POST", "/v1/children", child_body("Aspen"), idempotency_key='"a third"')
    problem_of(home.ask("POST", "/v1/children", child_body(), idempotency_key=KEY), 409, "already-there")
    assert home.ask("POST", "/v1/children", child_body("Rowan"), idempotency_key=KEY).status_code == 201


@pytest.mark.parametrize("key", ['""', '"a', "a b", '"' + "x" * 256 + '"', "caf\u00e9", '"a" "b"'])
def test_a_malformed_key_is_400(home: Home, key: str) -> None:
    """RFC 8941 section 3.3.3; and nothing is kept."""
    answer = home.service.post(
        "/v1/children",
        json=child_body(),
        headers={"Authorization": f"Bearer {home.keep}", "Idempotency-Key": key.encode()},
    )
    problem_of(answer, 400, "malformed-header")
    assert home.ask("GET", "/v1/children").json()["items"] == []


@pytest.mark.parametrize("rounds", range(3))
def test_of_two_at_once_one_is_carried_out(home: Home, rounds: int) -> None:
    """Eight threads send the same creation: one child, eight times the same reply."""
    answers: list[Any] = []
    start = threading.Barrier(8)

    def send() -> None:
        start.wait()
        answers.append(home.ask("POST", "/v1/children", child_body(), idempotency_key=f'"{rounds}"'))

    threads = [threading.Thread(target=send) for _ in range(8)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert [one.status_code for one in answers] == [201] * 8
    assert len({one.content for one in answers}) == 1
    assert len(home.ask("GET", "/v1/children").json()["items"]) == 1


def test_the_reply_and_what_it_tells_of_are_kept_together(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the reply cannot be kept, nothing is."""

    def broken(*_anything: object) -> None:
        raise RuntimeError("no room")

    monkeypatch.setattr("service.jobs.household.once.fill_place", broken)
    assert home.ask("POST", "/v1/children", child_body(), idempotency_key=KEY).status_code == 500
    assert home.ask("GET", "/v1/children").json()["items"] == []


def test_every_kind_can_be_sent_again(home: Home) -> None:
    """All collections that take a POST."""
    ids = home.fill()
    bodies = {
        "foods": food_body("rice cake"),
        "recipes": recipe_body(ids["foods"], "mash"),
        "prices": price_body(ids["foods"], "2026-10-01"),
    }
    for number, (name, body) in enumerate(bodies.items()):
        first, again = (home.ask("POST", f"/v1/{name}", body, idempotency_key=f'"{number}"') for _ in range(2))
        assert (first.status_code, again.status_code) == (201, 201)
        assert first.json() == again.json()


def test_the_secret_of_a_key_is_not_kept_for_it(home: Home, store: Store) -> None:
    """One key is made; the second answer has no secret, and the store has none either."""
    body = {"name": "hall", "rights": "read"}
    first, again = (home.ask("POST", "/v1/keys", body, idempotency_key=KEY) for _ in range(2))
    secret = first.json()["secret"]
    assert again.json() == {**first.json(), "secret": None}
    with store.reading() as connection:
        kept = kept_replies.find_reply(connection, home.id, KEY.strip('"'))
    assert kept is not None
    assert secret.encode() not in kept.reply
