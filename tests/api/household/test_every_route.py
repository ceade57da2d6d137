"""Promise: nothing of a household is reached with another's key, with none, or with one that lacks the right.

The whole table of routes is walked, so that a new route is walked too: every address that FastAPI documents as one of a
household, every method on it (OWASP API Security Top 10 2023, API1 and API5; ASVS 5.0.0 V8.2.1, V8.2.2, V8.4.1).
"""

from collections.abc import Iterator
from typing import Any

import pytest
from starlette.routing import Match

from service.api.app import create_app
from service.api.docs.openapi import openapi_document, routes
from service.api.docs.page import router as docs
from service.api.routers import ROUTES
from tests.api.clients import settings_of
from tests.api.household.homes import (  # fmt: skip
    COLLECTIONS,
    Home,
    child_body,
    food_body,
    lunch_body,
    offer_body,
    packet_body,
    plan_body,
    price_body,
    recipe_body,
    school_day_body,
    stock_body,
    today,
)
from tests.api.problems_seen import problem_of

OPEN = {
    "/problems/{slug}", "/v1/health", "/v1/standards", "/v1/standards/{standard_id}", "/v1/allergens", "/v1/choking-rules",
}  # fmt: skip
"""Addresses that know nothing of households, whatever the key."""
CHECKS = {
    "/v1/lunch-checks", "/v1/allergen-screenings", "/v1/offer-audits", "/v1/lunch-check-batches", "/v1/weekly-summaries",
    "/v1/portion-needs", "/v1/offer-designs", "/v1/shopping-lists", "/v1/prep-sheets", "/v1/label-sheets", "/v1/calendars",
    "/v1/recipe-readings",
}  # fmt: skip
"""Addresses that keep nothing; what they do with ids is looked at in test_stored_ids.py."""
BOTH = {
    ("GET", "/v1/foods"),
    ("GET", "/v1/foods/{food_id}"),
    ("GET", "/v1/branded-foods"),
    ("POST", "/v1/plans"),
}
"""Answered without a key too: about foods that are nobody's, and a plan that is not stored."""

TO_READ = "/v1/packets/to-read"
"""Has the form of a packet's address too, and names only what was not read."""
SETTINGS = "/v1/household"
"""Says nothing of any record."""


def every_route() -> Iterator[tuple[str, str]]:
    """Method and address template of every documented route."""
    for route in routes():
        for method in sorted(route.methods):
            yield method, route.path


def of_households() -> list[tuple[str, str]]:
    """Those about what a household stores; a route that is in none of the lists above is one."""
    return [one for one in every_route() if one[1] not in OPEN and one[1] not in CHECKS and one not in BOTH]


HOUSEHOLD_ROUTES = of_households()
WITH_IDS = [one for one in [*HOUSEHOLD_ROUTES, ("GET", "/v1/foods/{food_id}")] if "{" in one[1]]


def test_the_walk_sees_every_address_that_is_served() -> None:
    """What is served is what is documented: no address can hide from the walk."""
    documented = {(method.upper(), path) for path, methods in openapi_document()["paths"].items() for method in methods}
    assert documented == set(every_route())
    app = create_app(settings_of())
    methods = ("GET", "POST", "PUT", "PATCH", "DELETE")
    for path in {path for _method, path in every_route()}:
        for method in methods:
            scope = {"type": "http", "method": method, "path": path, "headers": []}
            served = any(route.matches(scope)[0] is Match.FULL for route in app.routes)
            known = {path, "/v1/packets/{packet_id}"} if path == TO_READ else {path}
            assert served == any((method, one) in set(every_route()) for one in known), (method, path)
    assert len(list(routes())) == len(list(every_route()))
    assert {path.path for path in docs.routes} == {"/openapi.json", "/docs", "/docs/assets/{name}"}
    assert len(app.routes) == len(ROUTES) + len(docs.routes)
    assert {path for _method, path in HOUSEHOLD_ROUTES} >= {f"/v1/{name}" for name in COLLECTIONS}


def address(path: str, ids: dict[str, str]) -> str:
    """A template with ids in it."""
    for name, kept in ids.items():
        path = path.replace("{" + name + "}", kept)
    path = path.replace("{week}", "2026-W49").replace("{date}", today())
    assert "{" not in path, path
    return path


def ids_of(home: Home) -> dict[str, str]:
    """One of each kind, by the names that ids have in addresses."""
    kept = home.fill()
    (key,) = [one["id"] for one in home.ask("GET", "/v1/keys").json()["items"] if one["rights"] == "read"]
    return {
        "child_id": kept["children"],
        "food_id": kept["foods"],
        "packet_id": kept["packets"],
        "recipe_id": kept["recipes"],
        "offer_id": kept["offers"],
        "price_id": kept["prices"],
        "lunch_id": kept["lunches"],
        "school_day_id": kept["school-days"],
        "stock_entry_id": kept["stock"],
        "plan_id": kept["plans"],
        "key_id": key,
    }


def whole_body(path: str, ids: dict[str, str]) -> Any:
    """A body that would be accepted in the household whose ids these are."""
    food = ids["food_id"]
    if path.endswith("/avoids"):
        return {"resourceType": "AllergyIntolerance", "code": {"text": "peanut"}}
    return {
        "children": child_body("Sorrel"),
        "foods": food_body("rice cake"),
        "packets": packet_body(food, "2026-10-01"),
        "recipes": recipe_body(food, "mash"),
        "offers": offer_body(food, "trips"),
        "prices": price_body(food, "2026-10-01"),
        "lunches": lunch_body(ids["child_id"], today(1), food),
        "school-days": school_day_body(ids["child_id"], "2026-12-02", offer=ids["offer_id"]),
        "stock": {"event": "taken"} if path.endswith("/events") else stock_body(food),
        "plans": {"name": "other weeks", "asked": plan_body(ids["child_id"], ids["offer_id"])},
        "keys": {"name": "hall", "rights": "read"},
    }.get("lunches" if "/lunches/" in path else "" if "/revisions" in path else path.split("/")[2], {})


def test_ids_of_another_household_are_404_on_every_route(home: Home, neighbours: Home) -> None:
    """All methods of all addresses with an id in them; afterwards all is there as it was."""
    ids = ids_of(home)
    before = home.ask("GET", "/v1/export").json()
    assert WITH_IDS
    for method, path in WITH_IDS:
        body = {"PUT": whole_body(path, ids), "PATCH": {}, "POST": whole_body(path, ids)}.get(method)
        for headers in ({"if_match": "*"}, {}):
            answer = neighbours.ask(method, address(path, ids), body, **headers)
            problem_of(answer, 404, "not-there")
    assert home.ask("GET", "/v1/export").json() == before


def test_a_body_that_names_an_id_of_another_household_is_404(home: Home, neighbours: Home) -> None:
    """Nothing is kept that hangs on another household's child, food or offer."""
    ids = ids_of(home)
    for path in ("/v1/recipes", "/v1/offers", "/v1/prices", "/v1/lunches", "/v1/school-days", "/v1/stock"):
        problem_of(neighbours.ask("POST", path, whole_body(path, ids)), 404, "not-there")
        assert neighbours.ask("GET", path).json() == {"items": [], "next": None}


def test_lists_searches_and_exports_hold_nothing_of_another_household(home: Home, neighbours: Home) -> None:
    """Every GET without an id in its address."""
    ids = ids_of(home)
    listed = [path for method, path in HOUSEHOLD_ROUTES if method == "GET" and "{" not in path]
    assert len(listed) >= 7
    for path in [*listed, "/v1/foods?q=oat", "/v1/foods?q=", f"/v1/lunches?child={ids['child_id']}"]:
        answer = neighbours.ask("GET", path)
        assert answer.status_code == 200, path
        assert [name for name, kept in ids.items() if kept in answer.text] == [], path
        assert "oat bar" not in answer.text
        mine = home.ask("GET", path).text
        assert path in (TO_READ, SETTINGS) or any(kept in mine for kept in ids.values()), path


@pytest.mark.parametrize(("method", "path"), HOUSEHOLD_ROUTES)
def test_without_a_key_nothing_is_answered(service: Any, method: str, path: str) -> None:
    """From this machine too; and nothing is said about whether the id is one."""
    ids = dict.fromkeys(
        (
            "child_id",
            "food_id",
            "packet_id",
            "recipe_id",
            "offer_id",
            "price_id",
            "lunch_id",
            "school_day_id",
            "stock_entry_id",
            "plan_id",
            "key_id",
        ),
        "01900000-0000-7000-8000-000000000001",
    )
    answer = service.request(method, address(path, ids))
    problem_of(answer, 401, "access-key-needed")
    assert answer.headers["www-authenticate"] == "Bearer"


def test_a_key_to_read_writes_nothing(home: Home) -> None:
    """Every route that is not a GET is 403, every GET is answered."""
    ids = ids_of(home)
    before = home.ask("GET", "/v1/export").json()
    for method, path in HOUSEHOLD_ROUTES:
        body = None if method in ("GET", "DELETE") else whole_body(path, ids)
        answer = home.ask(method, address(path, ids), body, key=home.read, if_match="*")
        if method == "GET":
            assert answer.status_code == 200, path
        else:
            problem_of(answer, 403, "forbidden-right")
    assert home.ask("GET", "/v1/export").json() == before


def test_a_key_to_pack_writes_lunches_only(home: Home) -> None:
    """Every GET is answered; of all that writes only making and editing lunches is."""
    ids = ids_of(home)
    allowed = {
        ("POST", "/v1/lunches"),
        ("PUT", "/v1/lunches/{lunch_id}"),
        ("PATCH", "/v1/lunches/{lunch_id}"),
        ("PUT", "/v1/children/{child_id}/lunches/{date}"),
    }
    for method, path in HOUSEHOLD_ROUTES:
        if (method, path) in allowed:
            continue
        body = None if method in ("GET", "DELETE") else whole_body(path, ids)
        answer = home.ask(method, address(path, ids), body, key=home.pack, if_match="*")
        if method == "GET":
            assert answer.status_code == 200, path
        else:
            problem_of(answer, 403, "forbidden-right")
