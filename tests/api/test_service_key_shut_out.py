"""Promise: whoever sends wrong keys is told to wait; no number of them keeps a right key out, from the same address either."""

from starlette.testclient import TestClient

from service.api.app import create_app
from tests.api.clients import settings_of

KEY = "kitchen-door-0123456789"


def test_the_services_key_is_let_in_from_another_address() -> None:
    """Guesses that begin alike from one address (RFC 5737), the right key from both."""
    app = create_app(settings_of(access_key=KEY))
    guesser, family = (TestClient(app, client=(address, 50_000)) for address in ("192.0.2.7", "192.0.2.8"))
    right = {"Authorization": f"Bearer {KEY}"}
    guesses = [
        guesser.get("/v1/foods/apple", headers={"Authorization": f"Bearer guess-{number}"}).status_code
        for number in range(12)
    ]
    assert guesses == [401] * 10 + [429] * 2
    assert guesser.get("/v1/foods/apple", headers=right).status_code == 200
    assert family.get("/v1/foods/apple", headers=right).status_code == 200


def test_a_few_slips_do_not_shut_the_right_key_out() -> None:
    """Nine wrong keys, then the right one; the right one does not count as a failure."""
    caller = TestClient(create_app(settings_of(access_key=KEY)), client=("192.0.2.7", 50_000))
    for number in range(9):
        assert caller.get("/v1/foods/apple", headers={"Authorization": f"Bearer slip-{number}"}).status_code == 401
    for _ in range(5):
        assert caller.get("/v1/foods/apple", headers={"Authorization": f"Bearer {KEY}"}).status_code == 200
