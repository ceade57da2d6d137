"""The application as the tests ask it: in this process, with settings of its own whatever the environment says."""

from typing import Any

from starlette.testclient import TestClient

from service.api.app import create_app
from service.settings import Settings

BODY = "application/json"
PROBLEM = "application/problem+json"

LUNCH: dict[str, Any] = {
    "standard": "us-school-lunch",
    "on": "2026-12-01",
    "child": {"age_years": 8},
    "lunch": {"items": [{"food": "apple"}]},
    "max_changes": 0,
}
"""The smallest lunch that is answered; the tests change one thing in a copy of it."""

DEFAULTS: dict[str, Any] = {
    "host": "127.0.0.1",
    "port": 8087,
    "access_key": "",
    "max_body_bytes": 1_000_000,
    "allowed_origins": "",
    "allowed_hosts": "testserver",  # what the test client calls it
    "behind_proxy": False,
    "trusted_proxies": "",
    "database_url": "sqlite:////nowhere/at/all.sqlite3",
    "branded_foods_file": "/nowhere/at/all/branded-foods.sqlite3",
    "food_data_url": "http://127.0.0.1:9",  # where nobody answers
    "food_data_cache": "/nowhere/at/all/cache.sqlite3",
    "jobs_at_once": 2,
    "jobs_waiting": 100,
    "log_level": "warning",
    "log_format": "text",
    "tracebacks": False,
    "metrics_key": "",
}


def settings_of(**given: Any) -> Settings:
    """Settings that nothing in the environment can change."""
    return Settings(**{**DEFAULTS, **given})


def client(**given: Any) -> TestClient:
    """A client of a fresh application."""
    return TestClient(create_app(settings_of(**given)))


def changed(place: str, value: Any) -> dict[str, Any]:
    """The smallest lunch with one value changed or added; ``place``: names and numbers separated by '/'."""
    lunch: dict[str, Any] = {
        **LUNCH,
        "child": dict(LUNCH["child"]),
        "lunch": {"items": [dict(item) for item in LUNCH["lunch"]["items"]]},
    }
    *outer, last = place.split("/")
    inner: Any = lunch
    for part in outer:
        inner = inner[int(part)] if part.isdigit() else inner.setdefault(part, {})
    inner[int(last) if isinstance(inner, list) else last] = value
    return lunch
