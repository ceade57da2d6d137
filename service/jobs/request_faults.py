"""What is wrong with a request that does not fit its model: place, value, problem and remedy, in our own words."""

import json
from collections import Counter
from collections.abc import Mapping
from typing import Any

import orjson

from service.domain.errors import BadInput, pointer_of
from service.domain.messages import Message, Value, message
from service.jobs.requests.fields import (
    AS_ALLERGY,
    AS_BUNDLE,
    AS_OTHER,
    AT,
    BAR_CODE,
    BY_ID,
    BY_ITEM,
    BY_LABEL,
    BY_RECIPE,
    COUNTRY_CODE,
    CURRENCY_CODE,
    FOOD_IDS,
    GRAIN_GROUP,
    IN_FULL,
    ISO_WEEK,
    KEPT,
    LINES,
    ONE_LINE,
    STORED_IDS,
    TIME_OF_DAY,
    UUID_TEXT,
    VALUE_AT,
    WEB_ADDRESS,
    is_kept_id,
)
from service.reference.message_templates import fields
from service.reference.messages import catalogue, say

LONGEST_VALUE = 120
NOTHING = "nothing"
"""The value shown for a field that is missing."""
BRANCHES = frozenset({BY_ID, BY_LABEL, BY_RECIPE, BY_ITEM, KEPT, IN_FULL, AS_ALLERGY, AS_BUNDLE, AS_OTHER})

NO_OBJECT = ("model_type", "model_attributes_type", "list_type")
PATTERNS = {
    ONE_LINE: "one-line",
    LINES: "plain-text",
    TIME_OF_DAY: "time-of-day",
    UUID_TEXT: "stored-id",
    CURRENCY_CODE: "currency-code",
    COUNTRY_CODE: "country-code",
    BAR_CODE: "no-gtin",
    ISO_WEEK: "no-week",
    GRAIN_GROUP: "grain-group",
    WEB_ADDRESS: "web-address",
    FOOD_IDS: "list-of-ids",
    STORED_IDS: "list-of-ids",
}
"""Codes of the faults of texts that do not fit a pattern."""


def shown(value: object) -> str:
    """A value as text (what is not text as JSON), cut to a readable length.

    >>> shown({"grams": None})
    '{"grams": null}'
    >>> len(shown("x" * 1000))
    120
    """
    if isinstance(value, bytes):
        value = value.decode(errors="replace").strip()
    text = value if isinstance(value, str) else _begin_of_json(value)
    return text if len(text) <= LONGEST_VALUE else text[: LONGEST_VALUE - 3] + "..."


def _begin_of_json(value: object) -> str:
    """As much of a value as JSON as can be shown; the rest, which may be very long or deep, is not written at all."""
    text = ""
    for part in json.JSONEncoder(ensure_ascii=False, default=str).iterencode(value):
        text += part
        if len(text) > LONGEST_VALUE:
            break
    return text


def request_fault(error: Any, skip: int = 0) -> dict[str, Any]:
    """One of pydantic's errors as pointer, value, code, params, problem and remedy.

    ``skip``: outer parts of the place to drop. Problem and remedy are the texts of the code in the catalogue.
    """
    code, params = _code_of(error)
    context: Mapping[str, Any] = error.get("ctx") or {}
    place = (*error["loc"][skip:], *context.get(AT, ()))
    value = context[VALUE_AT] if AT in context else error["input"]
    return {
        "pointer": pointer_of([part for part in place if part not in BRANCHES]),
        "value": NOTHING if error["type"] == "missing" or (AT in context and value is None) else shown(value),
        "code": code,
        "params": params,
        "problem": say(Message(f"fault.{code}", params)),
        "remedy": say(Message(f"remedy.{code}", params)),
    }


def fault_of(told: Mapping[str, Any]) -> Message:
    """What ``request_fault`` found, as the problem of a fault of ours."""
    return Message(f"fault.{told['code']}", told["params"])


def _code_of(error: Any) -> tuple[str, dict[str, Value]]:
    kind = str(error["type"])
    if kind == "extra_forbidden" and error["loc"][-1] == "label_read":
        return "label-read", {}
    context: Mapping[str, Any] = error.get("ctx") or {}
    if kind in NO_OBJECT and is_kept_id(error["input"]):
        return "kept-id", {}
    if kind == "string_pattern_mismatch":
        code = PATTERNS.get(str(context["pattern"]), "pattern")
    else:
        code = kind.replace("_", "-")
    texts = catalogue().texts
    if f"fault.{code}" not in texts:
        return "other", {"reason": str(error["msg"])}
    needed = fields(texts[f"fault.{code}"]) | fields(texts[f"remedy.{code}"])
    values = {name: context[name] for name in sorted(needed)}
    return code, {name: one if isinstance(one, str | int | float) else str(one) for name, one in values.items()}


def _as_many_colons(body: bytes) -> bool:
    """Whether it has as many colons when it is written out again; False where it holds a NaN or a number beyond all floats."""
    try:
        return orjson.dumps(orjson.loads(body)).count(b":") == body.count(b":")
    except orjson.JSONDecodeError:
        return False


class _Doubled(dict[str, Any]):
    """An object of the body in which a field appears twice; ``field`` says which."""

    field = ""


def refuse_doubled_fields(body: bytes) -> None:
    """Raise ``BadInput`` where a field of a JSON body appears twice.

    JSON readers keep the last of them without a word: a second ``avoids`` would drop every allergen of the
    first. ``body``: JSON that was already found well-formed.
    """
    try:
        if b"\\u" not in body and _as_many_colons(body):
            return  # so no field was dropped
        found = json.loads(body, object_pairs_hook=_object, parse_int=str, parse_float=str)
    except (RecursionError, orjson.JSONEncodeError) as fault:
        raise BadInput(pointer="", value="", problem=message("fault.json-too-deep")) from fault
    places: list[tuple[tuple[object, ...], Any]] = [((), found)]
    while places:
        place, value = places.pop()
        if isinstance(value, _Doubled):
            raise BadInput(
                pointer=pointer_of((*place, value.field)),
                value=value.field,
                problem=message("fault.field-twice"),
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
