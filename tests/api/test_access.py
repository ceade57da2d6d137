"""Promise: only this machine is answered by default; anybody else needs the key, except for the health address."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from pydantic import ValidationError
from starlette.testclient import TestClient

from service.api.app import create_app
from service.settings import LOOPBACK, Settings
from tests.api.clients import LUNCH, PROBLEM, client, settings_of
from tests.api.problems_seen import problem_of
from tests.served import GENEROUS, ROOT

KEY = "kitchen-door-0123456789"
CLOSED = ["/v1/foods", "/v1/foods/apple", "/v1/standards", "/v1/choking-rules", "/docs", "/openapi.json", "/nowhere"]


@pytest.fixture(scope="module")
def locked() -> TestClient:
    """A service that was started with a key."""
    return client(access_key=KEY, host="0.0.0.0")  # noqa: S104 - never bound: asked in this process


def bearer(key: str) -> dict[str, str]:
    """The header of RFC 6750 section 2.1."""
    return {"Authorization": f"Bearer {key}"}


def test_the_default_is_loopback_without_a_key(monkeypatch: pytest.MonkeyPatch) -> None:
    """With nothing in the environment nobody outside can reach it."""
    for name in list(os.environ):
        if name.upper().startswith("PACKED_LUNCH_"):
            monkeypatch.delenv(name)
    chosen = Settings()
    assert chosen.host in LOOPBACK
    assert chosen.access_key == ""
    assert chosen.origins() == []


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.7", "kitchen.example", ""])  # noqa: S104 - never bound
@pytest.mark.parametrize("path", CLOSED)
def test_a_public_address_answers_nobody_from_elsewhere_without_a_key(host: str, path: str) -> None:
    """Addresses of RFC 5737 and RFC 2606, all that is not loopback: it may be listened on, and every address is closed."""
    app = create_app(settings_of(host=host))
    there = TestClient(app, client=("192.0.2.9", 50_000))
    for method in ("GET", "POST", "PUT", "PATCH", "DELETE", "HEAD"):
        assert there.request(method, path).status_code == 401


@pytest.mark.parametrize("key", ["a", "fifteen-letters"])
def test_a_short_key_is_refused(key: str) -> None:
    """Keys that can be guessed are no keys; what is missing is said, the key itself is not."""
    with pytest.raises(ValidationError, match="16 or more") as refused:
        settings_of(access_key=key)
    assert f"'{key}'" not in str(refused.value.errors()[0]["msg"])


@pytest.mark.parametrize("origins", ["*", "https://kitchen.example,*", "https://*.example"])
def test_origins_with_a_star_are_refused(origins: str) -> None:
    """Every origin is named."""
    with pytest.raises(ValidationError, match="name each origin"):
        settings_of(allowed_origins=origins)


def test_serve_never_shows_the_key() -> None:
    """A key that is too short is refused without being printed."""
    environment = {**os.environ, "PACKED_LUNCH_ACCESS_KEY": "tooshort-xyz"}
    done = subprocess.run(
        [sys.executable, "-m", "service", "serve"],
        cwd=ROOT, env=environment, capture_output=True, text=True, timeout=GENEROUS, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert "tooshort-xyz" not in done.stdout + done.stderr


@pytest.mark.parametrize("path", CLOSED)
def test_without_the_key_nothing_is_answered(locked: TestClient, path: str) -> None:
    """401 with a challenge (RFC 9110 section 15.5.2), even for addresses that are none."""
    answer = locked.get(path)
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"] == "Bearer"
    assert answer.headers["content-type"] == PROBLEM
    told = answer.json()
    assert (told["type"], told["status"], told["instance"]) == ("/problems/access-key-needed", 401, path)
    assert KEY not in answer.text


@pytest.mark.parametrize("header", [
    "", "Bearer", "Bearer ", f"Bearer {KEY}x", f"Bearer {KEY[:-1]}", f"Bearer x{KEY}", f"Bearer {KEY.upper()}", KEY,
    f"Basic {KEY}", "Bearer caf\u00e9-kitchen-door",
])  # fmt: skip
def test_a_wrong_key_is_401(locked: TestClient, header: str) -> None:
    """Only the whole key, as a bearer token."""
    answer = locked.post("/v1/lunch-checks", json=LUNCH, headers={"Authorization": header.encode()})
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"] == "Bearer"


def test_a_key_in_the_address_is_no_key(locked: TestClient) -> None:
    """Addresses end up in logs."""
    assert locked.get("/v1/foods", params={"access_key": KEY}).status_code == 401


@pytest.mark.parametrize("scheme", ["Bearer", "bearer", "BEARER"])
def test_the_right_key_opens_everything(locked: TestClient, scheme: str) -> None:
    """The name of the scheme has no case (RFC 9110 section 11.1)."""
    header = {"Authorization": f"{scheme} {KEY}"}
    assert locked.post("/v1/lunch-checks", json=LUNCH, headers=header).status_code == 200
    assert locked.get("/docs", headers=header).status_code == 200


def test_health_is_open(locked: TestClient) -> None:
    """Whoever watches the service needs no key; the answer says nothing private."""
    answer = locked.get("/v1/health")
    assert answer.status_code == 200
    assert set(answer.json()) == {"status", "version", "lunch_foods", "generic_foods", "standards"}


@pytest.mark.parametrize("path", ["/v1/health/", "/v1/health/../foods", "//v1/health", "/v1/foods/..%2Fhealth"])
def test_only_health_itself_is_open(locked: TestClient, path: str) -> None:
    """Nothing that only looks like it."""
    assert locked.get(path).status_code == 401


@pytest.mark.parametrize("path", ["/v1/foods/apple", "/v1/children", "/docs"])
@pytest.mark.parametrize("key", ["anything", "x" * 42, "x" * 43, ""])
def test_a_key_that_is_sent_must_be_one(path: str, key: str, tmp_path: Path) -> None:
    """Also where none is needed, and on every address: a household's key cut short is not taken for no key."""
    with client(database_url=f"sqlite:///{tmp_path / 'store.sqlite3'}") as service:
        problem_of(service.get(path, headers=bearer(key)), 401, "access-key-refused", path)
