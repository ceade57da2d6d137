"""What is wrong with a request that does not fit its model: place, value, problem and remedy, in our own words."""

import json
from collections import Counter
from collections.abc import Mapping
from typing import Any

import orjson

from service.domain.errors import BadInput, pointer_of
from service.jobs.requests import BY_ID, BY_ITEM, BY_LABEL, BY_RECIPE, IN_FULL, KEPT, LINES, ONE_LINE, is_kept_id

LONGEST_VALUE = 120
NOTHING = "nothing"
"""The value told of a field that is missing."""
BRANCHES = frozenset({BY_ID, BY_LABEL, BY_RECIPE, BY_ITEM, KEPT, IN_FULL})

WORDS: dict[str, tuple[str, str]] = {
    "missing": ("is missing", "Add it."),
    "extra_forbidden": ("is no field here", "Take it out, or check its spelling against the API documentation."),
    "model_type": ("is no object", "Give a JSON object."),
    "model_attributes_type": ("is no object", "Give a JSON object."),
    "dict_type": ("is no object", "Give a JSON object."),
    "list_type": ("is no list", "Give a JSON array."),
    "string_type": ("is no text", "Give a JSON string."),
    "string_too_short": ("is empty", "Give some text, or leave the field out."),
    "string_too_long": ("has more than {max_length} characters", "Give {max_length} at most."),
    "string_unicode": ("is no well-formed text", "Send UTF-8."),
    "float_type": ("is no number", "Give a JSON number."),
    "int_type": ("is no whole number", "Give a whole JSON number."),
    "int_parsing": ("is no whole number", "Give a whole number."),
    "int_parsing_size": ("is too large a number", "Give a smaller one."),
    "int_from_float": ("is no whole number", "Give a whole number."),
    "bool_type": ("is neither true nor false", "Give true or false."),
    "finite_number": ("is no finite number", "Give a finite number."),
    "greater_than": ("is not more than {gt:g}", "Give more than {gt:g}."),
    "greater_than_equal": ("is less than {ge:g}", "Give {ge:g} or more."),
    "less_than": ("is not less than {lt:g}", "Give less than {lt:g}."),
    "less_than_equal": ("is more than {le:g}", "Give {le:g} at most."),
    "too_short": ("holds fewer than {min_length}", "Give {min_length} or more."),
    "too_long": ("holds more than {max_length}", "Give {max_length} at most."),
    "literal_error": ("is not one of the known values", "Give one of: {expected}."),
    "not_listed": ("is not one of the known values", "Give one of: {expected}."),
    "no_day": ("is no day", "Write the day as YYYY-MM-DD, e.g. 2026-12-01."),
    "no_food": ("is no food", "Give a food's id, a food from its label, or a recipe."),
    "no_ingredient": ("is no food", "Give a food's id or a food from its label."),
    "no_offer": ("is no food", "Give a food's id, or a food in its amount like an item of the lunch."),
    "together": ("{problem}", "{remedy}"),
}
NO_OBJECT = ("model_type", "model_attributes_type", "list_type")
KEPT_ID = (
    "is the id of something kept, which only a household's key opens",
    "Send the household's access key, or the thing itself.",
)
PATTERNS = {
    ONE_LINE: ("holds a control character or a line break", "Give one line of plain text."),
    LINES: ("holds a control character", "Give plain text."),
}


def shown(value: object) -> str:
    """A value as text (what is no text as JSON), cut to a readable length.

    >>> shown({"grams": None})
    '{"grams": null}'
    >>> len(shown("x" * 1000))
    120
    """
    if isinstance(value, bytes):
        value = value.decode(errors="replace").strip()
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= LONGEST_VALUE else text[: LONGEST_VALUE - 3] + "..."


def request_fault(error: Any, skip: int = 0) -> dict[str, str]:
    """One of pydantic's errors as pointer, value, problem and remedy (``skip``: outer parts of the place to drop)."""
    kind = str(error["type"])
    context: Mapping[str, Any] = error.get("ctx") or {}
    problem, remedy = WORDS.get(kind, (str(error["msg"]), "Mend it as the API documentation says."))
    if kind == "string_pattern_mismatch":
        pattern = str(context["pattern"])
        problem, remedy = PATTERNS.get(pattern, ("does not have the expected form", f"Give text that fits {pattern}."))
    elif kind == "json_invalid":
        problem, remedy = f"is no JSON: {context['error']}", "Send well-formed JSON in UTF-8."
    elif kind in WORDS:
        problem, remedy = problem.format(**context), remedy.format(**context)
    if kind in NO_OBJECT and is_kept_id(error["input"]):
        problem, remedy = KEPT_ID
    value = NOTHING if kind == "missing" else shown(error["input"])
    place = [part for part in error["loc"][skip:] if part not in BRANCHES]
    return {"pointer": pointer_of(place), "value": value, "problem": problem, "remedy": remedy}


class _Doubled(dict[str, Any]):
    """An object of the body in which a field stands twice; ``field`` says which."""

    field = ""


def refuse_doubled_fields(body: bytes) -> None:
    """Raise ``BadInput`` where a field of a JSON body stands twice.

    JSON readers keep the last of them without a word: a second ``avoids`` would drop every allergen of the
    first. ``body``: JSON that was already found well-formed.
    """
    if b"\\u" not in body and orjson.dumps(orjson.loads(body)).count(b":") == body.count(b":"):
        return  # written out again it has as many colons, so no field was dropped
    found = json.loads(body, object_pairs_hook=_object, parse_int=str, parse_float=str)
    places: list[tuple[tuple[object, ...], Any]] = [((), found)]
    while places:
        place, value = places.pop()
        if isinstance(value, _Doubled):
            raise BadInput(
                pointer=pointer_of((*place, value.field)),
                value=value.field,
                problem="stands twice in the same object",
                remedy="Give each field once.",
            )
        if isinstance(value, dict):
            places.extend(((*place, name), inner) for name, inner in value.items())
        elif isinstance(value, list):
            places.extend(((*place, number), inner) for number, inner in enumerate(value))


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) == len(pairs):
        return made
    doubled = _Doubled(made)
    ((doubled.field, _times),) = Counter(name for name, _value in pairs).most_common(1)
    return doubled
