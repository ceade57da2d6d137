"""Promise: one line a happening, as text or as JSON, with nothing in it that ends a line, acts on a terminal, or was stored."""

import io
import json
import logging
import re
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.api.app import create_app
from service.api.logs.json_lines import JsonLines
from service.api.logs.lines import AtHand, PlainLines, configure_logging, one_line
from tests.api.clients import LUNCH, settings_of

PRIVATE = "Zebulonia"
KEY = "kitchen-door-0123456789"
FORGED = f"{PRIVATE}\r\n2026-12-01T00:00:00.000Z INFO all is well\x1b[2J\u202e\u2028"
TEXT_LINE = re.compile(
    r"^(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z) INFO packed_lunch\.requests request method=(\S+) route=(\S+) status=(\d+) "
    r"duration_ms=([\d.]+) peer=(\S+)( problem=(\S+))? request_id=([0-9a-f]{16})$"
)


@pytest.fixture(params=["text", "json"])
def logged(request: pytest.FixtureRequest) -> Iterator[tuple[str, io.StringIO]]:
    """What is logged in each form, as the handler of ``serve`` writes it."""
    kept = io.StringIO()
    handler = logging.StreamHandler(kept)
    handler.setFormatter(JsonLines() if request.param == "json" else PlainLines())
    handler.addFilter(AtHand())
    logger = logging.getLogger("packed_lunch")
    before = logger.level
    logger.addHandler(handler)
    logger.setLevel(logging.INFO)
    yield request.param, kept
    logger.removeHandler(handler)
    logger.setLevel(before)


def test_each_request_has_a_line(logged: tuple[str, io.StringIO]) -> None:
    """Time, id, template, status, duration and peer; the id is in the answer too. A refused key says when and from where."""
    form, kept = logged
    service = TestClient(
        create_app(settings_of(access_key=KEY)),
        client=("192.0.2.7", 50_000),
        headers={"Authorization": f"Bearer {KEY}"},
    )
    answers = [
        service.get("/v1/foods/apple?q=1"),
        service.get("/v1/foods/nothing"),
        service.get(f"/{PRIVATE}"),
        service.head("/v1/foods/apple"),
        service.get("/v1/foods/apple", headers={"Accept-Encoding": "identity"}),
        service.post("/v1/lunch-checks", json=LUNCH),
        service.request("BREW", "/v1/health"),
        service.get("/v1/foods/apple", headers={"Authorization": f"Bearer {PRIVATE}"}),
    ]
    lines = kept.getvalue().splitlines()
    assert PRIVATE not in kept.getvalue()
    assert KEY not in kept.getvalue()
    told: list[dict[str, Any]] = []
    for line in lines:
        if form == "json":
            told.append(json.loads(line))
        elif "request method" in line:
            found = TEXT_LINE.match(line)
            assert found is not None, line
            names = ("time", "method", "route", "status", "duration_ms", "peer", "_", "problem", "request_id")
            told.append(dict(zip(names, found.groups(), strict=True)))
    requests = [one for one in told if "status" in one]
    assert [(one["method"], one["route"], int(one["status"])) for one in requests] == [
        ("GET", "/v1/foods/{food_id}", 422), ("GET", "/v1/foods/{food_id}", 404), ("GET", "-", 404),
        ("HEAD", "/v1/foods/{food_id}", 200), ("GET", "/v1/foods/{food_id}", 200), ("POST", "/v1/lunch-checks", 200), ("-", "/v1/health", 405), ("GET", "-", 401),
    ]  # fmt: skip
    assert [one["request_id"] for one in requests] == [one.headers["x-request-id"] for one in answers]
    assert {one["peer"] for one in requests} == {"192.0.2.7"}
    assert all(0 <= float(one["duration_ms"]) < 600_000 for one in requests)
    (refused,) = [line for line in lines if "an unknown access key was refused" in line]
    assert answers[-1].headers["x-request-id"] in refused
    assert "192.0.2.7" in refused


def test_no_line_can_be_forged(logged: tuple[str, io.StringIO]) -> None:
    """In the message and in a field; the line is one line of printable characters."""
    form, kept = logged
    logging.getLogger("packed_lunch").warning("seen %s", FORGED, extra={"route": FORGED})
    (line,) = kept.getvalue().splitlines()
    assert line.isprintable()
    if form == "json":
        assert json.loads(line)["route"] == FORGED


def test_a_fault_is_told_without_its_words(logged: tuple[str, io.StringIO]) -> None:
    """What other code logs with its traceback, the server's own for example: kind and lines of code."""
    _form, kept = logged
    try:
        {}[PRIVATE]
    except KeyError:
        logging.getLogger("packed_lunch").exception("Exception in ASGI application\n")
    (line,) = kept.getvalue().splitlines()
    assert "KeyError at " in line
    assert f"in {test_a_fault_is_told_without_its_words.__name__}" in line
    assert PRIVATE not in line


@pytest.mark.parametrize("form", ["text", "json"])
def test_developers_may_see_all_of_it(form: str) -> None:
    """Only where tracebacks were asked for."""
    try:
        {}[PRIVATE]
    except KeyError as fault:
        record = logging.LogRecord(
            "packed_lunch", logging.ERROR, "", 0, "unexpected", None, (KeyError, fault, fault.__traceback__)
        )
    lines = JsonLines(tracebacks=True) if form == "json" else PlainLines(tracebacks=True)
    assert f"KeyError: '{PRIVATE}'" in lines.format(record)


def test_what_is_printable_stays_as_it_is() -> None:
    """Names in other scripts are not for logs, but words of libraries may be."""
    assert one_line("größer 日本 = 1") == "größer 日本 = 1"
    assert one_line("a\x00b\x7f\u2066") == "a\\x00b\\x7f\\u2066"


def test_all_loggers_go_the_same_way(capsys: pytest.CaptureFixture[str]) -> None:
    """The server's too; other libraries from warnings on."""
    root = logging.getLogger()
    handlers, levels = (
        root.handlers[:],
        {name: logging.getLogger(name).level for name in ("", "uvicorn", "packed_lunch")},
    )
    try:
        configure_logging("info", "json")
        for name in ("uvicorn.error", "packed_lunch", "sqlalchemy.engine"):
            logging.getLogger(name).info("told")
            logging.getLogger(name).warning("warned")
        told = [json.loads(line) for line in capsys.readouterr().err.splitlines()]
    finally:
        root.handlers[:] = handlers
        for name, level in levels.items():
            logging.getLogger(name).setLevel(level)
    assert [(one["logger"], one["message"]) for one in told] == [
        ("uvicorn.error", "told"), ("uvicorn.error", "warned"), ("packed_lunch", "told"), ("packed_lunch", "warned"), ("sqlalchemy.engine", "warned"),
    ]  # fmt: skip
    assert {tuple(one)[:4] for one in told} == {("time", "level", "logger", "message")}
