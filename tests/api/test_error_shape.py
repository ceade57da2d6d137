"""Promise: every error is one problem document with the place, the value and the remedy; here: of bodies.

The shape itself is written down in problems_seen.py.
"""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.api.problems import PROBLEMS
from service.domain import errors as domain_errors
from tests.api.clients import BODY, LUNCH, changed, client
from tests.api.problems_seen import CHECK, SCREEN, post, problem_of

NO_JSON: dict[str, bytes] = {
    "nothing at all": b"",
    "cut off": b'{"standard": "us-school-lunch"',
    "single quotes": b"{'standard': 'us-school-lunch'}",
    "a comma too many": b'{"standard": "us-school-lunch",}',
    "not UTF-8": json.dumps(LUNCH).encode().replace(b"apple", b"appl\xe9"),
    "UTF-16": json.dumps(LUNCH).encode("utf-16"),
    "half a surrogate pair": json.dumps(changed("child/nickname", "x")).replace('"x"', '"\\ud83c"').encode(),
    "the other half": json.dumps(changed("child/nickname", "x")).replace('"x"', '"\\udf4e"').encode(),
    "a control character in text": json.dumps(LUNCH).replace("apple", "ap\tple").encode(),
    "arrays without end": b"[" * 100_000,
    "objects without end": b'{"lunch":' * 50_000,
    "a number of 5,000 digits": json.dumps(changed("child/age_years", 8)).replace("8}", "8" * 5_000 + "}").encode(),
    "two documents": json.dumps(LUNCH).encode() * 2,
}


@pytest.mark.parametrize("body", NO_JSON.values(), ids=NO_JSON)
def test_a_body_that_is_no_json_is_400(service: TestClient, body: bytes) -> None:
    """400 is only for what does not parse."""
    problem_of(post(service, body), 400, "malformed-json", CHECK)


@pytest.mark.parametrize(
    "named", ["text/plain", "text/json", "application/x-www-form-urlencoded", "multipart/form-data"]
)
def test_another_content_type_is_415(service: TestClient, named: str) -> None:
    """The content type is named in the answer."""
    body = problem_of(post(service, LUNCH, **{"Content-Type": named}), 415, "not-json", CHECK)
    assert named in body["detail"]


def test_no_content_type_is_415(service: TestClient) -> None:
    """A body of which nobody says what it is is not guessed at."""
    body = problem_of(service.post(CHECK, content=json.dumps(LUNCH)), 415, "not-json", CHECK)
    assert "no Content-Type" in body["detail"]


def test_a_content_type_with_parameters_is_json(service: TestClient) -> None:
    """Upper case and a charset do not matter."""
    assert post(service, LUNCH, **{"Content-Type": "Application/JSON; charset=utf-8"}).status_code == 200


WRONG_FORM: dict[str, tuple[dict[str, Any], str]] = {
    "quantity not a number": (changed("lunch/items/0/quantity", float("nan")), "/lunch/items/0/quantity"),
    "quantity without end": (changed("lunch/items/0/quantity", float("inf")), "/lunch/items/0/quantity"),
    "quantity below all": (changed("lunch/items/0/quantity", float("-inf")), "/lunch/items/0/quantity"),
    "quantity zero": (changed("lunch/items/0/quantity", 0), "/lunch/items/0/quantity"),
    "quantity negative": (changed("lunch/items/0/quantity", -1), "/lunch/items/0/quantity"),
    "quantity absurd": (changed("lunch/items/0/quantity", 1e12), "/lunch/items/0/quantity"),
    "quantity as text": (changed("lunch/items/0/quantity", "2"), "/lunch/items/0/quantity"),
    "quantity true": (changed("lunch/items/0/quantity", True), "/lunch/items/0/quantity"),
    "age of thirty digits": (changed("child/age_months", 10**30), "/child/age_months"),
    "age negative": (changed("child/age_years", -1), "/child/age_years"),
    "months in parts": (changed("child", {"age_months": 96.5}), "/child/age_months"),
    "both ages": (changed("child/age_months", 96), "/child"),
    "standard missing": ({k: v for k, v in LUNCH.items() if k != "standard"}, "/standard"),
    "lunch missing": ({k: v for k, v in LUNCH.items() if k != "lunch"}, "/lunch"),
    "no item": (changed("lunch/items", []), "/lunch/items"),
    "forty-one items": (changed("lunch/items", [{"food": "apple"}] * 41), "/lunch/items"),
    "items no list": (changed("lunch/items", {"food": "apple"}), "/lunch/items"),
    "food a number": (changed("lunch/items/0/food", 3), "/lunch/items/0/food"),
    "food null": (changed("lunch/items/0/food", None), "/lunch/items/0/food"),
    "food empty": (changed("lunch/items/0/food", ""), "/lunch/items/0/food"),
    "food of spaces": (changed("lunch/items/0/food", "   "), "/lunch/items/0/food"),
    "NUL in a name": (changed("lunch/items/0/food", "ap\x00ple"), "/lunch/items/0/food"),
    "NUL in a nickname": (changed("child/nickname", "\x00"), "/child/nickname"),
    "terminal codes in a nickname": (changed("child/nickname", "\x1b[2J"), "/child/nickname"),
    "line break in a nickname": (changed("child/nickname", "a\nb"), "/child/nickname"),
    "nickname too long": (changed("child/nickname", "x" * 41), "/child/nickname"),
    "month 13": (changed("on", "2026-13-01"), "/on"),
    "30 February": (changed("on", "2026-02-30"), "/on"),
    "a day with a time": (changed("on", "2026-12-01T00:00:00"), "/on"),
    "a day as a number": (changed("on", 1796083200), "/on"),
    "a week's day": (changed("on", "2026-W49-2"), "/on"),
    "a day without dashes": (changed("on", "20261201"), "/on"),
    "unknown form": (changed("lunch/items/0/form", "whoel"), "/lunch/items/0/form"),
    "unknown region": (changed("regions", ["US", "XX"]), "/regions/1"),
    "unknown field": (changed("alergies", ["milk"]), "/alergies"),
    "unknown field of the child": (changed("child/alergies", []), "/child/alergies"),
    "unknown field called id": (changed("lunch/items/0/id", 7), "/lunch/items/0/id"),
    "unknown field called label": (changed("lunch/items/0/label", 7), "/lunch/items/0/label"),
    "unknown field with a slash and a tilde": (changed("child/a~b", 1) | {"x/y": 1}, "/x~1y"),
    "unknown field of a label's serving": (
        changed("lunch/items/0/food", {"name": "bar", "serving": {"grams": 30, "ounces": 1}}),
        "/lunch/items/0/food/serving/ounces",
    ),
    "unknown field of a label's facts": (
        changed("lunch/items/0/food", {"name": "bar", "serving": {"grams": 30}, "facts": {"salt_mg": 1}}),
        "/lunch/items/0/food/facts/salt_mg",
    ),
    "label without a serving": (changed("lunch/items/0/food", {"name": "bar"}), "/lunch/items/0/food/serving"),
    "serving by weight and volume": (
        changed("lunch/items/0/food", {"name": "bar", "serving": {"grams": 30, "ml": 30}}),
        "/lunch/items/0/food/serving",
    ),
    "unknown field of a recipe's ingredient": (
        changed("lunch/items/0/food", {"name": "mash", "ingredients": [{"food": "apple", "gram": 3, "grams": 3}]}),
        "/lunch/items/0/food/ingredients/0/gram",
    ),
    "ingredient that is not a food": (
        changed("lunch/items/0/food", {"name": "mash", "ingredients": [{"food": 3, "grams": 3}]}),
        "/lunch/items/0/food/ingredients/0/food",
    ),
    "recipe within a recipe": (
        changed(
            "lunch/items/0/food",
            {
                "name": "pie",
                "ingredients": [{"food": {"name": "mash", "ingredients": [{"food": "apple", "grams": 3}]}, "grams": 3}],
            },
        ),
        "/lunch/items/0/food/ingredients/0/food/serving",
    ),
    "offer that is not a food": (changed("offer", ["apple", 3]), "/offer/1"),
    "too many changes asked for": (changed("max_changes", 6), "/max_changes"),
}


@pytest.mark.parametrize(("body", "pointer"), WRONG_FORM.values(), ids=WRONG_FORM)
def test_a_body_of_another_form_is_422(service: TestClient, body: dict[str, Any], pointer: str) -> None:
    """The pointer names exactly the part that is wrong."""
    told = problem_of(post(service, body), 422, "invalid-request", CHECK)
    assert f"#{pointer}" in [error["pointer"] for error in told["errors"]]
    assert pointer in told["detail"]


@pytest.mark.parametrize("body", ["[]", "null", "3", '"text"', "true"])
def test_a_body_that_is_no_object_is_422(service: TestClient, body: str) -> None:
    """JSON, but not an object: the pointer is the whole body."""
    told = problem_of(post(service, body), 422, "invalid-request", CHECK)
    assert told["errors"][0]["pointer"] == "#"


def test_all_faults_of_form_are_told_together(service: TestClient) -> None:
    """Nobody has to fix one fault to hear of the next."""
    body = changed("child/alergies", []) | {"on": "tomorrow", "max_changes": 9}
    told = problem_of(post(service, body), 422, "invalid-request", CHECK)
    assert {error["pointer"] for error in told["errors"]} == {"#/child/alergies", "#/on", "#/max_changes"}


RECIPE = {"name": "mash", "ingredients": [{"food": "apple", "grams": 100}]}

WRONG_NAMES: dict[str, tuple[dict[str, Any], str, str, str]] = {
    "standard": (changed("standard", "us-scool-lunch"), "unknown-name", "/standard", "us-school-lunch"),
    "food": (changed("lunch/items/0/food", "aple"), "unknown-name", "/lunch/items/0/food", "apple"),
    "unit": (changed("lunch/items/0/unit", "cup slice"), "unknown-name", "/lunch/items/0/unit", "cup slices"),
    "age group": (changed("child/age_group", "grades-k-6"), "unknown-name", "/child/age_group", "grades-k-5"),
    "allergen": (
        changed("child/avoids", [{"allergen": "milk"}, {"allergen": "peanutt"}]),
        "unknown-name",
        "/child/avoids/1/allergen",
        "peanut",
    ),
    "banned allergen": (changed("setting/bans", ["hazelnutt"]), "unknown-name", "/setting/bans/0", "hazelnut"),
    "way of crediting": (
        changed("lunch/items/0/credit_as", "froot"),
        "unknown-name",
        "/lunch/items/0/credit_as",
        "fruit",
    ),
    "food on offer": (changed("offer", ["aple"]) | {"max_changes": 1}, "unknown-name", "/offer/0", "apple"),
    "choking rule of a label": (
        changed("lunch/items/0/food", {"name": "x", "serving": {"grams": 30}, "choking_rule": "popcron"}),
        "unknown-name",
        "/lunch/items/0/food/choking_rule",
        "popcorn",
    ),
    "choking rule of a recipe": (
        changed("lunch/items/0/food", {**RECIPE, "choking_rule": "popcron"}) | {"child": {"age_years": 5}},
        "unknown-name",
        "/lunch/items/0/food/choking_rule",
        "popcorn",
    ),
    "ingredient of a recipe": (
        changed("lunch/items/0/food", {"name": "mash", "ingredients": [{"food": "aple", "grams": 100}]}),
        "unknown-name",
        "/lunch/items/0/food/ingredients/0/food",
        "apple",
    ),
    "no age": (changed("child", {}), "bad-input", "/child", "age_months"),
    "age outside the groups": (
        changed("standard", "jp-school-lunch") | {"child": {"age_years": 4}},
        "outside-age-groups",
        "/child/age_years",
        "ages-6-7",
    ),
    "day before the rules": (changed("on", "1999-12-01"), "outside-dates", "/on", "2022-07-01"),
    "sixty apples": (changed("lunch/items/0/quantity", 60), "bad-amount", "/lunch/items/0/quantity", "3 kg"),
    "next to nothing": (changed("lunch/items/0/quantity", 1e-9), "bad-amount", "/lunch/items/0/quantity", "0.001"),
}


@pytest.mark.parametrize(("body", "slug", "pointer", "remedy"), WRONG_NAMES.values(), ids=WRONG_NAMES)
def test_a_name_or_value_that_is_not_known_is_422(
    service: TestClient, body: dict[str, Any], slug: str, pointer: str, remedy: str
) -> None:
    """The remedy offers a near name or says what there is."""
    told = problem_of(post(service, body), 422, slug, CHECK)
    (error,) = told["errors"]
    assert error["pointer"] == f"#{pointer}"
    assert error["slug"] == slug
    assert remedy in error["remedy"]


def test_unknown_names_are_told_together(service: TestClient) -> None:
    """Two items, two faults, one answer."""
    told = problem_of(
        post(service, changed("lunch/items", [{"food": "aple"}, {"food": "apple", "unit": "bucket"}])),
        422,
        "many-faults",
    )
    assert [error["pointer"] for error in told["errors"]] == ["#/lunch/items/0/food", "#/lunch/items/1/unit"]


def test_a_screening_points_into_its_own_body(service: TestClient) -> None:
    """Children and items of a screening have their own places."""
    body = {
        "children": [{"nickname": "a"}, {"nickname": "b", "avoids": [{"allergen": "peanutt"}]}],
        "items": [{"food": "apple"}, {"name": "box", "lunch": [{"food": "apple"}, {"food": "aple"}]}],
    }
    told = problem_of(post(service, body, SCREEN), 422, "many-faults", SCREEN)
    assert {error["pointer"] for error in told["errors"]} == {
        "#/items/1/lunch/1/food",
        "#/children/1/avoids/0/allergen",
    }


def test_a_screening_too_large_for_one_call_is_422(service: TestClient) -> None:
    """200 children and 500 items are within the schema, all of them together are not."""
    body = {
        "children": [{"nickname": f"child {number}"} for number in range(200)],
        "items": [{"food": "apple"}] * 500,
    }
    told = problem_of(post(service, body, SCREEN), 422, "bad-input", SCREEN)
    assert told["errors"][0]["pointer"] == "#/items"


TWICE: dict[str, tuple[str, str]] = {
    "at the top": ('{"standard":"jp-school-lunch",' + json.dumps(LUNCH)[1:], "/standard"),
    "allergens that would be dropped": (
        json.dumps(changed("child", {"age_years": 8, "avoids": [{"allergen": "apple"}]})).replace(
            '"avoids"', '"avoids": [{"allergen": "peanut"}], "avoids"'
        ),
        "/child/avoids",
    ),
    "in a list": (json.dumps(LUNCH).replace('"food"', '"food": "pear", "food"'), "/lunch/items/0/food"),
    "hidden by an escape": (json.dumps(LUNCH).replace('"food"', '"f\\u006fod": "pear", "food"'), "/lunch/items/0/food"),
    "beside an escaped colon": (
        json.dumps(changed("child/nickname", "a:b"))
        .replace("a:b", "a\\u003ab")
        .replace('"food"', '"food": "pear", "food"'),
        "/lunch/items/0/food",
    ),
}


@pytest.mark.parametrize(("body", "pointer"), TWICE.values(), ids=TWICE)
def test_a_field_that_stands_twice_is_422(service: TestClient, body: str, pointer: str) -> None:
    """JSON readers keep the last of two: the first, with its allergens, would be gone without a word."""
    told = problem_of(post(service, body), 422, "bad-input", CHECK)
    assert told["errors"][0]["pointer"] == f"#{pointer}"
    assert "twice" in told["errors"][0]["detail"]


@pytest.mark.parametrize("text", ["a:b", 'a\\"b:c', "\\u00e9", "\\\\", "a\\/b"])
def test_colons_and_escapes_in_text_are_no_second_field(service: TestClient, text: str) -> None:
    """What looks like a field inside a text is none."""
    body = json.dumps(changed("child/nickname", "NAME")).replace("NAME", text)
    assert post(service, body).status_code == 200


def test_a_body_over_the_limit_is_413() -> None:
    """More bytes than the settings allow, announced or not."""
    small = client(max_body_bytes=2_000)
    padded = json.dumps(LUNCH) + " " * 2_000
    problem_of(post(small, padded), 413, "body-too-large", CHECK)

    def chunks() -> Iterator[bytes]:
        for start in range(0, len(padded), 100):
            yield padded[start : start + 100].encode()

    answer = small.post(CHECK, content=chunks(), headers={"Content-Type": BODY})
    assert "content-length" not in answer.request.headers
    problem_of(answer, 413, "body-too-large", CHECK)
    assert post(small, json.dumps(LUNCH)).status_code == 200


def test_a_body_takes_no_parameters_beside_it(service: TestClient) -> None:
    """``POST /v1/lunch-checks?on=...`` would be passed over without a word."""
    told = problem_of(post(service, LUNCH, f"{CHECK}?on=2027-07-01"), 422, "invalid-request", CHECK)
    assert [error["pointer"] for error in told["errors"]] == ["on"]


def test_every_kind_of_fault_has_its_problem() -> None:
    """A kind of fault that is added to the domain needs a row in the table of problems."""
    kinds = {
        one.slug
        for one in vars(domain_errors).values()
        if isinstance(one, type) and issubclass(one, domain_errors.AnyFault)
    }
    assert kinds <= set(PROBLEMS)
