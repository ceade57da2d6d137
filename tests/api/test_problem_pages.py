"""Promise: the address that stands as ``type`` in a problem explains it, to programs and to people (RFC 9457 section 3.1.1)."""

import pytest
from starlette.testclient import TestClient

from service.api.problems import PROBLEMS, title_of
from service.reference.messages import catalogue
from tests.api.clients import client
from tests.api.problems_seen import problem_of


@pytest.mark.parametrize("group", ["problem-title", "problem-meaning", "problem-remedy"])
def test_every_type_of_problem_is_explained(group: str) -> None:
    """None is left out, none is of no problem; the catalogue has the same codes in every language."""
    named = {code.removeprefix(f"{group}.") for code in catalogue().texts if code.startswith(f"{group}.")}
    assert named == set(PROBLEMS)


@pytest.mark.parametrize("slug", PROBLEMS)
def test_the_type_of_a_problem_answers(service: TestClient, slug: str) -> None:
    """With the same title and status as the problems themselves; as a page for who wants one."""
    told = service.get(f"/problems/{slug}").json()
    assert (told["status"], told["title"]) == (PROBLEMS[slug], title_of(slug))
    page = service.get(f"/problems/{slug}", headers={"Accept": "text/html"})
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    assert told["remedy"].split("'")[0] in page.text


def test_an_unknown_type_is_404_and_no_key_is_needed(service: TestClient) -> None:
    """Who was refused for want of a key can read why."""
    problem_of(service.get("/problems/nothing"), 404, "not-found")
    assert client(access_key="kitchen-door-0123456789").get("/problems/access-key-needed").status_code == 200


@pytest.mark.parametrize("accept", ["text/csv", "application/json;q=0", "image/*"])
def test_what_is_not_json_is_406(service: TestClient, accept: str) -> None:
    """On addresses that answer JSON only (RFC 9110 section 15.5.7)."""
    problem_of(service.get("/v1/foods/apple", headers={"Accept": accept}), 406, "not-acceptable", "/v1/foods/apple")


@pytest.mark.parametrize("path", ["/v1/foods?limit=1&limit=2", "/v1/allergens?on=2026-12-01&on=2026-12-02"])
def test_a_parameter_given_twice_is_422(service: TestClient, path: str) -> None:
    """Only one of the two would be read."""
    told = problem_of(service.get(path), 422, "invalid-request")
    assert [error["pointer"] for error in told["errors"]] == [path.partition("?")[2].split("=")[0]]
