"""Promise: a fault of form names its place, the value as sent and what to do, whatever was sent."""

from typing import Annotated, Any

import pytest
from pydantic import Field, TypeAdapter, ValidationError

from service.domain.errors import LunchError
from service.jobs.recipes.requests import Country
from service.jobs.request_faults import LONGEST_VALUE, refuse_doubled_fields, request_fault, shown
from service.jobs.requests.fields import FOOD_IDS, GRAIN_GROUP, ISO_WEEK, STORED_IDS, WEB_ADDRESS, Gtin
from service.jobs.requests.lunches import LunchCheckRequest
from service.jobs.weeks.requests import Currency


def of(pattern: str) -> Any:
    """A text of that pattern."""
    return Annotated[str, Field(pattern=pattern)]


def faults_of(body: str) -> dict[str, dict[str, str]]:
    """Pointer -> fault of a body that does not fit."""
    with pytest.raises(ValidationError) as refused:
        LunchCheckRequest.model_validate_json(body)
    return {one["pointer"]: one for one in (request_fault(error) for error in refused.value.errors(include_url=False))}


def test_all_faults_of_a_body_are_there_with_their_places() -> None:
    """A missing field, an unknown one and a wrong type, in one go."""
    found = faults_of('{"standard": 7, "child": {"age_years": 8, "alergies": []}, "lunch": {"items": []}}')
    assert {"/standard", "/child/alergies", "/on", "/lunch/items"} <= set(found)
    assert found["/on"]["value"] == "nothing"
    assert found["/standard"]["value"] == "7"
    assert all(one["problem"] and one["remedy"] for one in found.values())


def test_a_place_names_no_branch_of_ours() -> None:
    """A food may be an id, a label or a recipe; which of them was tried is not part of where the fault is."""
    found = faults_of(
        '{"standard": "us-school-lunch", "on": "2026-12-01", "child": {"age_years": 8},'
        ' "lunch": {"items": [{"food": {"name": "bar", "serving": {"grams": -1}}}]}}'
    )
    assert list(found) == ["/lunch/items/0/food/serving/grams"]


@pytest.mark.parametrize(("field", "sent", "remedy"), [
    (Currency, "usd", "three capital letters"), (Country, "USA", "two capital letters"), (Gtin, "12-34", "digits under the bar code"),
    (of(ISO_WEEK), "2026-49", "like 2026-W49"), (of(GRAIN_GROUP), "J", "from A to I"), (of(WEB_ADDRESS), "ftp://kitchen", "https://"),
    (of(FOOD_IDS), "apple pear", "commas"), (of(STORED_IDS), "apple", "commas"),
])  # fmt: skip
def test_a_code_of_another_form_is_answered_in_words(field: Any, sent: str, remedy: str) -> None:
    """ISO 4217, ISO 3166 and GS1: a person is told the form, not shown a pattern."""
    with pytest.raises(ValidationError) as refused:
        TypeAdapter(field).validate_python(sent)
    (found,) = [request_fault(error) for error in refused.value.errors(include_url=False)]
    assert remedy in found["remedy"]
    assert "^" not in found["problem"] + found["remedy"]


def test_a_long_value_is_cut_to_a_readable_length() -> None:
    """And a value that is not text is shown as JSON."""
    assert len(shown("x" * 5000)) == LONGEST_VALUE
    assert shown({"a": [1, None]}) == '{"a": [1, null]}'
    assert shown(b"\xff\xfe") != ""


@pytest.mark.parametrize(("body", "place"), [
    (b'{"a": 1, "a": 1}', "/a"), (b'{"a": {"b": 1, "b": 2}}', "/a/b"), (b'{"a": [{}, {"b": 1, "b": 2}]}', "/a/1/b"),
    (b'{"a": NaN, "a": 1}', "/a"), (b'{"a": 1e999, "b": {"c": 1, "c": -Infinity}}', "/b/c"),
])  # fmt: skip
def test_a_field_that_appears_twice_is_refused(body: bytes, place: str) -> None:
    """RFC 8259 section 4: what a reader does with two names alike is unpredictable."""
    with pytest.raises(LunchError) as refused:
        refuse_doubled_fields(body)
    assert [one.pointer for one in refused.value.faults()] == [place]


def test_a_field_of_the_same_name_elsewhere_is_fine() -> None:
    """Two objects, or a text that looks like a field."""
    refuse_doubled_fields(b'{"a": NaN, "c": {"a": -Infinity}}')
    refuse_doubled_fields(b'{"a": {"b": 1}, "c": {"b": 1}, "d": "\\"a\\": 1"}')
