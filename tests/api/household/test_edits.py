"""Promise: no edit is lost to another, parts can be edited, and the whole is looked at again.

RFC 9110 sections 8.8.3, 13.1.1, 13.1.2 and 15.4.5 (entity tags, If-Match, If-None-Match, 304), RFC 6585 section 3 (428),
RFC 5789 (PATCH), RFC 7396 (JSON Merge Patch; its table is in tests/jobs/household/test_merge_patch.py).
"""

import json
from datetime import timedelta
from typing import Any

import pytest

from service.api.patches import patch_of
from service.jobs.household.requests import KeptPrice
from service.jobs.household.stock.entries import today
from tests.api.household.homes import Home, child_body, food_body, offer_body, price_body, recipe_body
from tests.api.problems_seen import problem_of


@pytest.fixture
def child(home: Home) -> str:
    """The address of a child."""
    return "/v1/children/" + home.kept("/v1/children", child_body())


def test_what_is_kept_is_what_is_shown(home: Home) -> None:
    """201 with its address and version; read again it is the same."""
    answer = home.ask("POST", "/v1/children", child_body())
    assert answer.status_code == 201
    assert answer.headers["etag"] == '"1"'
    again = home.ask("GET", answer.headers["location"])
    assert again.json() == answer.json()
    assert again.headers["etag"] == '"1"'
    assert child_body().items() <= {**again.json(), "avoids": [{"allergen": "peanut"}]}.items()
    assert again.json()["avoids"] == [{"allergen": "peanut", "threshold": "may_contain"}]


def test_an_edit_raises_the_version_and_leaves_the_rest(home: Home, child: str) -> None:
    """A field goes in, another out, an object's field by field; a list is replaced whole."""
    before = home.ask("GET", child).json()
    patch = {"avoids": [{"allergen": "milk", "threshold": "contains"}], "birth_month": None, "age_group": "grades-k-5"}
    answer = home.ask("PATCH", child, patch, if_match='"1"')
    assert answer.status_code == 200
    assert answer.headers["etag"] == '"2"'
    after = home.ask("GET", child).json()
    assert after == {**before, **patch, "updated_at": after["updated_at"]} == answer.json()


def test_an_objects_field_is_edited_in_its_place(home: Home) -> None:
    """RFC 7396: an object goes into the object that is there."""
    food = "/v1/foods/" + home.kept("/v1/foods", food_body())
    home.ask("PATCH", food, {"facts": {"fibre_g": 4, "sodium_mg": None}}, if_match='"1"')
    facts = home.ask("GET", food).json()["kept"]["facts"]
    assert (facts["energy_kcal"], facts["fibre_g"], facts["sodium_mg"]) == (170, 4, None)


def test_a_replacement_is_whole(home: Home, child: str) -> None:
    """What is left out of a PUT gets its default."""
    body = {"nickname": "Juniper", "standard": "gb-sct-school-lunch", "age_group": "primary"}
    answer = home.ask("PUT", child, body, if_match='"1"')
    assert answer.status_code == 200, answer.text
    assert (answer.json()["avoids"], answer.json()["birth_month"]) == ([], None)
    assert answer.headers["etag"] == '"2"'


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE"])
def test_an_edit_without_its_version_is_428(home: Home, child: str, method: str) -> None:
    """Nothing is overwritten by who has not read it."""
    body = {"PUT": child_body("Sorrel"), "PATCH": {"dislikes": ["leeks"]}}.get(method)
    problem_of(home.ask(method, child, body), 428, "precondition-required", child)
    assert home.ask("GET", child).headers["etag"] == '"1"'


@pytest.mark.parametrize("tag", ['"0"', '"2"', 'W/"1"', '"one", "7"', '""'])
@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE"])
def test_an_edit_of_another_version_is_412(home: Home, child: str, method: str, tag: str) -> None:
    """The comparison is strong: a weak tag never matches."""
    body = {"PUT": child_body("Sorrel"), "PATCH": {"dislikes": ["leeks"]}}.get(method)
    problem_of(home.ask(method, child, body, if_match=tag), 412, "stale-edit", child)
    assert home.ask("GET", child).headers["etag"] == '"1"'


@pytest.mark.parametrize("tag", ['"1"', '"7" , "1"', "*", 'W/"1", "1"'])
def test_an_edit_of_this_version_is_made(home: Home, child: str, tag: str) -> None:
    """One of several tags is enough; the star is any version."""
    assert home.ask("PATCH", child, {"dislikes": ["leeks"]}, if_match=tag).status_code == 200


@pytest.mark.parametrize("tag", ["1", '"1', "'1'", '"1""2"', "", '"1" "2"'])
def test_a_malformed_tag_is_400(home: Home, child: str, tag: str) -> None:
    """Not guessed at."""
    problem_of(home.ask("PATCH", child, {"dislikes": ["leeks"]}, if_match=tag), 400, "malformed-header", child)


@pytest.mark.parametrize(("tag", "status"), [('"1"', 304), ('W/"1"', 304), ("*", 304), ('"2"', 200), ('"2", "1"', 304)])
def test_who_has_this_version_is_told_so(home: Home, child: str, tag: str, status: int) -> None:
    """304 without a body, with the tag; the comparison is weak."""
    answer = home.ask("GET", child, if_none_match=tag)
    assert answer.status_code == status
    assert answer.headers["etag"] == '"1"'
    assert bool(answer.content) == (status == 200)


def test_an_own_food_has_a_version_too(home: Home) -> None:
    """Where all foods are shown."""
    food = "/v1/foods/" + home.kept("/v1/foods", food_body())
    assert home.ask("GET", food).headers["etag"] == '"1"'
    assert home.ask("GET", food, if_none_match='"1"').status_code == 304
    assert "etag" not in home.ask("GET", "/v1/foods/apple").headers


@pytest.mark.parametrize(("patch", "pointer"), [
    ({"id": "01900000-0000-7000-8000-000000000001"}, "/id"),
    ({"created_at": "2020-01-01T00:00:00Z"}, "/created_at"),
    ({"version": 9}, "/version"),
    ({"nickname": None}, "/nickname"),
    ({"nickname": ""}, "/nickname"),
    ({"height_cm": "tall"}, "/height_cm"),
    ({"birth_month": None}, ""),
    ({"birth_month": "2018-13"}, "/birth_month"),
    ({"avoids": {"allergen": "milk"}}, "/avoids"),
    ({"activity": "huge"}, "/activity"),
])  # fmt: skip
def test_the_edited_whole_is_looked_at_again(home: Home, child: str, patch: Any, pointer: str) -> None:
    """Ids, times and versions are not written by callers; nothing is kept in part."""
    told = problem_of(home.ask("PATCH", child, patch, if_match='"1"'), 422, "invalid-request", child)
    assert told["errors"][0]["pointer"] == "#" + pointer
    assert home.ask("GET", child).headers["etag"] == '"1"'


@pytest.mark.parametrize(("patch", "pointer", "near"), [
    ({"avoids": [{"allergen": "peanutt"}]}, "#/avoids/0/allergen", "peanut"),
    ({"bans": ["milk", "hazelnutt"]}, "#/bans/1", "hazelnut"),
    ({"standard": "us-scool-lunch"}, "#/standard", "us-school-lunch"),
    ({"age_group": "grades-k-6"}, "#/age_group", "grades-k-5"),
])  # fmt: skip
def test_names_are_looked_up_when_they_are_kept(home: Home, child: str, patch: Any, pointer: str, near: str) -> None:
    """An allergen that nobody knows would never be found in anything."""
    told = problem_of(home.ask("PATCH", child, patch, if_match='"1"'), 422, "unknown-name", child)
    (error,) = told["errors"]
    assert error["pointer"] == pointer
    assert near in error["remedy"]


def test_a_child_that_is_not_born_is_refused(home: Home, child: str) -> None:
    """A slip in the year: on every day until then it would have no age. Next month may have begun elsewhere on earth."""
    year = (today() + timedelta(days=40)).strftime("%Y-%m")
    told = problem_of(home.ask("PATCH", child, {"birth_month": year}, if_match="*"), 422, "bad-input", child)
    (error,) = told["errors"]
    assert (error["pointer"], error["code"], error["value"]) == ("#/birth_month", "month-to-come", year)
    assert "the month in which the child was born" in error["remedy"]
    this_month = {"birth_month": today().strftime("%Y-%m")}
    assert home.ask("PATCH", child, this_month, if_match="*").status_code == 200


def test_a_day_on_which_the_child_is_grown_up_is_refused_in_words(home: Home) -> None:
    """Not as a field of the request, which has no age."""
    lunch = "/v1/lunches/" + home.fill()["lunches"]
    told = problem_of(home.ask("PATCH", lunch, {"date": "2099-06-07"}, if_match="*"), 422, "outside-age-groups", lunch)
    assert [one["code"] for one in told["errors"]] == ["too-old-that-day"]


def test_what_a_record_needs_cannot_be_removed(home: Home) -> None:
    """So the document offers no null for it, as it does for what may be missing."""
    price = "/v1/prices/" + home.kept("/v1/prices", price_body("apple"))
    told = problem_of(home.ask("PATCH", price, {"currency": None}, if_match="*"), 422, "invalid-request", price)
    assert [(one["pointer"], one["code"]) for one in told["errors"]] == [("#/currency", "missing")]
    fields = patch_of(KeptPrice).model_json_schema()["properties"]
    needed = {name for name, field in fields.items() if {"type": "null"} not in field.get("anyOf", [])}
    assert needed == {"what", "amount_minor", "currency", "from"}
    assert not any("default" in fields[name] for name in needed)


@pytest.mark.parametrize("media", ["application/json", "application/json-patch+json", "text/plain"])
def test_a_patch_of_another_kind_is_415(home: Home, child: str, media: str) -> None:
    """RFC 5789 section 2.2: Accept-Patch says which is understood."""
    answer = home.ask("PATCH", child, {"dislikes": ["leeks"]}, if_match='"1"', content_type=media)
    problem_of(answer, 415, "not-merge-patch", child)
    assert answer.headers["accept-patch"] == "application/merge-patch+json"


@pytest.mark.parametrize("body", [b"[]", b"null", b'"x"', b"3"])
def test_a_patch_that_is_no_object_is_422(home: Home, child: str, body: bytes) -> None:
    """RFC 7396 would put it in the child's place; a child is an object."""
    problem_of(home.ask("PATCH", child, body, if_match='"1"'), 422, "invalid-request", child)


@pytest.mark.parametrize("figure", [b"NaN", b"Infinity", b"-Infinity", b"1e999", b"9" * 40, b'"\\ud800"', b"1e-400"])
def test_a_patch_with_a_number_that_is_none_is_refused(home: Home, child: str, figure: bytes) -> None:
    """RFC 8259 section 6 has no such numbers; read as null they would become an unknown height."""
    answer = home.ask("PATCH", child, b'{"height_cm": %b}' % figure, if_match='"1"')
    assert answer.status_code in (400, 422), answer.text
    assert home.ask("GET", child).headers["etag"] == '"1"'


@pytest.mark.parametrize("figure", [b"NaN", b"-Infinity", b"1e999", b"9" * 400])
def test_what_is_ignored_in_a_replacement_may_be_any_number(home: Home, child: str, figure: bytes) -> None:
    """The version is sent back as a caller's own JSON library wrote it."""
    body = json.dumps(child_body("Linden")).encode()[:-1] + b', "version": %b}' % figure
    answer = home.ask("PUT", child, body, if_match='"1"')
    assert (answer.status_code, answer.json().get("nickname")) == (200, "Linden"), answer.text


def test_a_patch_with_a_field_twice_is_refused(home: Home, child: str) -> None:
    """The second would hide the first."""
    problem_of(home.ask("PATCH", child, b'{"avoids":[],"avoids":null}', if_match='"1"'), 422, "bad-input", child)


def test_a_name_is_that_of_one_only(home: Home) -> None:
    """409 for a second child, food, recipe or offer of a name, and a second price from a day."""
    ids = home.fill()
    for path, body in (
        ("/v1/children", child_body()), ("/v1/foods", food_body()), ("/v1/recipes", recipe_body(ids["foods"])),
        ("/v1/offers", offer_body(ids["foods"])), ("/v1/prices", price_body(ids["foods"])),
    ):  # fmt: skip
        problem_of(home.ask("POST", path, body), 409, "already-there", path)
    other = home.kept("/v1/children", child_body("Rowan"))
    answer = home.ask("PATCH", f"/v1/children/{other}", {"nickname": "Juniper"}, if_match='"1"')
    problem_of(answer, 409, "already-there")
    assert home.ask("GET", f"/v1/children/{other}").json()["nickname"] == "Rowan"


@pytest.mark.parametrize("kept_id", ["1", "01900000-0000-7000-8000-000000000001", "x" * 300, "%00", "{id}"])
def test_an_id_of_nothing_is_404(home: Home, kept_id: str) -> None:
    """Whatever it looks like; the parameter is named as the documentation names it."""
    for method in ("GET", "DELETE", "PATCH", "PUT"):
        body = {"PATCH": {}, "PUT": child_body()}.get(method)
        told = problem_of(home.ask(method, f"/v1/children/{kept_id}", body, if_match="*"), 404, "not-there")
        assert told["errors"][0]["pointer"] == "child_id"
