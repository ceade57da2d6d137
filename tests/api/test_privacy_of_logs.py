"""Promise: nothing personal is logged: no nickname, age, allergen, food or label, whether the request is good or bad.

Asked in this process with every logger turned up, and of a real server process whose output is read whole.
"""

import http.client
import json
import logging
import os
import re
import socket
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from tests.api.clients import client
from tests.served import GENEROUS, ROOT, served

NICKNAME = "Zebulonia"
BODY: dict[str, Any] = {
    "standard": "us-school-lunch",
    "on": "2026-12-01",
    "child": {"nickname": NICKNAME, "age_years": 8.75, "avoids": [{"allergen": "lupin"}, {"allergen": "walnut"}]},
    "setting": {"bans": ["celery"]},
    "lunch": {
        "items": [
            {"food": "pumpkin-seeds"},
            {"food": {"name": "quokka crackers", "serving": {"grams": 30}, "ingredients": "Mullet flour, walnuts."}},
        ]
    },
}
SCREENING = {"children": [{**BODY["child"], "age_years": None}], "items": [{"food": "pumpkin-seeds"}]}
SCREENING["children"][0].pop("age_years")
WORDS = [NICKNAME, "8.75", "lupin", "walnut", "celery", "pumpkin", "quokka", "mullet", "gibberish"]


def with_fault(place: str, value: Any) -> dict[str, Any]:
    """The body with one value spoilt."""
    spoilt: dict[str, Any] = json.loads(json.dumps(BODY))
    inner = spoilt
    *outer, last = place.split("/")
    for part in outer:
        inner = inner[part]
    inner[last] = value
    return spoilt


REQUESTS: list[tuple[str, str, bytes]] = [
    ("POST", "/v1/lunch-checks", json.dumps(BODY).encode()),
    ("POST", "/v1/allergen-screenings", json.dumps(SCREENING).encode()),
    ("POST", "/v1/lunch-checks", json.dumps(with_fault("child/gibberish", NICKNAME)).encode()),
    ("POST", "/v1/lunch-checks", json.dumps(with_fault("child/nickname", NICKNAME * 9)).encode()),
    ("POST", "/v1/lunch-checks", json.dumps(with_fault("child/avoids", [{"allergen": "gibberish"}])).encode()),
    ("POST", "/v1/lunch-checks", json.dumps(with_fault("lunch/items", [{"food": "gibberish"}])).encode()),
    ("POST", "/v1/lunch-checks", json.dumps(with_fault("on", "1999-01-01")).encode()),
    ("POST", "/v1/lunch-checks", json.dumps(BODY).encode()[:-9]),
    ("POST", "/v1/lunch-checks", json.dumps(BODY).encode().replace(b"Zeb", b"Z\xe9b")),
    ("POST", "/v1/lunch-checks", json.dumps(BODY).encode() + b" " * 1_000_000),
    ("POST", "/v1/lunch-checks?child=Zebulonia", json.dumps(BODY).encode()),
    ("PUT", "/v1/lunch-checks", json.dumps(BODY).encode()),
    ("GET", "/v1/foods?q=walnut%20gibberish", b""),
    ("GET", "/v1/foods/pumpkin-seeds", b""),
    ("GET", "/v1/foods/gibberish", b""),
    ("GET", "/gibberish/Zebulonia", b""),
]


KEY = "kitchen-door-0123456789"
HOUSEHOLD: list[tuple[str, str, dict[str, Any] | None]] = [
    ("POST", "/v1/children", {"nickname": NICKNAME, "birth_month": "2018-04", "avoids": [{"allergen": "walnut"}]}),
    ("POST", "/v1/children", {"nickname": NICKNAME, "birth_month": "2018-04"}),
    ("POST", "/v1/children", {"nickname": f"{NICKNAME}\n", "gibberish": "quokka"}),
    (
        "POST",
        "/v1/foods",
        {"name": "quokka crackers", "serving": {"grams": 30}, "ingredients": "Mullet flour, walnuts."},
    ),
    ("GET", "/v1/children", None),
    ("GET", f"/v1/children/{NICKNAME}", None),
    ("GET", "/v1/lunches?child=gibberish", None),
    ("POST", "/v1/keys", {"name": f"{NICKNAME}'s tablet", "rights": "read"}),
    ("GET", "/v1/export", None),
]
"""What is asked with a household's key."""
PAGES = ["/", "/week", "/packets?q=walnut", "/foods?q=quokka", f"/children/{NICKNAME}", "/care/keys", f"/{NICKNAME}", "/sign-in?link=gibberish",
         f"/take/{NICKNAME}", "/set-out", "/static/gibberish"]  # fmt: skip
"""What a device that is signed in opens."""


def assert_nothing_personal(text: str) -> None:
    """None of the words, in any case."""
    # A time of day may hold the digits of a number: "06:20:28.757".
    assert [word for word in WORDS if re.search(rf"(?<!\d){re.escape(word)}(?!\d)", text, re.I)] == [], text


def test_nothing_personal_is_logged_in_this_process(caplog: pytest.LogCaptureFixture) -> None:
    """Every logger at its most talkative, except the test client's own."""
    service = client()
    with caplog.at_level(logging.DEBUG):
        statuses = [
            service.request(method, path, content=body, headers={"Content-Type": "application/json"}).status_code
            for method, path, body in REQUESTS
        ]
    assert statuses == [200, 200, 422, 422, 422, 422, 422, 400, 400, 413, 422, 405, 200, 200, 404, 404]
    told = "\n".join(one.getMessage() for one in caplog.records if not one.name.startswith("httpx"))
    assert_nothing_personal(told)


def test_a_server_process_prints_nothing_personal() -> None:
    """Log level ``info``, the most the settings allow; also a request that is not HTTP, and one cut off."""
    with served(PACKED_LUNCH_LOG_LEVEL="info") as server:
        for method, path, body in REQUESTS:
            assert server.ask(method, path, body)[0] < 500
        for raw in (f"{NICKNAME} walnut\r\n\r\n", f"POST /v1/lunch-checks HTTP/1.1\r\nHost: {NICKNAME}\r\nX: walnut"):
            with socket.create_connection(("127.0.0.1", server.port), timeout=GENEROUS) as connection:
                connection.sendall(raw.encode())
                connection.shutdown(socket.SHUT_WR)
                connection.recv(1000)
    assert "Uvicorn running" in server.output
    assert_nothing_personal(server.output)


def _command(url: str, *words: str, typed: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "service", *words],
        cwd=ROOT, env={**os.environ, "PACKED_LUNCH_DATABASE_URL": url}, capture_output=True, text=True, check=False, timeout=GENEROUS, input=typed,
    )  # fmt: skip


@pytest.mark.parametrize("form", ["text", "json"])
def test_a_server_logs_each_request_of_a_household_without_what_was_in_it(tmp_path: Path, form: str) -> None:
    """The API with a household's key, pages with a device's cookie, forms, and metrics; each has its line."""
    url = f"sqlite:///{tmp_path / 'store.sqlite3'}"
    made = json.loads(_command(url, "household", "make", "--name", NICKNAME, "--json").stdout)
    link = json.loads(_command(url, "devices", "add", "--json").stdout)["link"].partition("link=")[2]
    settings = {"LOG_LEVEL": "info", "LOG_FORMAT": form, "METRICS_KEY": KEY, "DATABASE_URL": url}
    ours = {"Sec-Fetch-Site": "same-origin", "Content-Type": "application/x-www-form-urlencoded"}
    with served(**{f"PACKED_LUNCH_{name}": value for name, value in settings.items()}) as server:
        for method, path, body in HOUSEHOLD:
            content = b"" if body is None else json.dumps(body).encode()
            assert server.ask(method, path, content, {"Authorization": f"Bearer {made['key']}"})[0] < 500
        cookie = _signed_in(server.port, link)
        for path in PAGES:
            assert server.ask("GET", path, headers={"Cookie": cookie, "Accept": "text/html"})[0] < 500
        for path in ("/children/new", "/foods/new", "/packets/look-up", f"/{NICKNAME}"):
            answered = server.ask(
                "POST", path, f"nickname={NICKNAME}&name=quokka&q=walnut".encode(), {"Cookie": cookie, **ours}
            )
            assert answered[0] < 500
        server.ask("GET", f"/v1/foods/{NICKNAME}", headers={"Authorization": f"Bearer {NICKNAME}"})
        metrics = server.ask("GET", "/metrics", headers={"Authorization": f"Bearer {KEY}"})[1].decode()
    assert_nothing_personal(server.output)
    assert_nothing_personal(metrics)
    for secret in (made["key"], link, cookie.partition("=")[2], KEY):
        assert secret not in server.output
    lines = [line for line in server.output.splitlines() if "packed_lunch.requests" in line]
    assert len(lines) >= len(HOUSEHOLD) + len(PAGES) + 6
    if form == "json":
        assert {json.loads(line)["message"] for line in lines} == {"request"}


def _signed_in(port: int, link: str) -> str:
    """The cookie of a device that uses a link."""
    form = {"Content-Type": "application/x-www-form-urlencoded", "Sec-Fetch-Site": "same-origin"}
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=GENEROUS)) as connection:
        connection.request("POST", "/sign-in", f"link={link}&name={NICKNAME}", form)
        answer = connection.getresponse()
        answer.read()
        assert answer.status == 303
        return str(answer.headers["Set-Cookie"]).partition(";")[0]


def test_a_command_that_fails_says_nothing_of_what_is_stored(tmp_path: Path) -> None:
    """A store that refuses each statement with a child in it: nothing of the child, on either output."""
    import sqlite3

    file = tmp_path / "store.sqlite3"
    made = json.loads(_command(f"sqlite:///{file}", "household", "make", "--json").stdout)
    export = tmp_path / "export.json"
    assert _command(f"sqlite:///{file}", "export", "--out", str(export)).returncode == 0
    whole = json.loads(export.read_text("utf-8"))
    with sqlite3.connect(file) as connection:
        connection.execute("CREATE TRIGGER no BEFORE UPDATE ON households BEGIN SELECT RAISE(ABORT, 'no'); END")
    done = _command(f"sqlite:///{file}", "household", "edit", "--name", NICKNAME)
    assert done.returncode == 70
    assert_nothing_personal(done.stdout + done.stderr)
    assert made["key"] not in json.dumps(whole) + done.stderr
