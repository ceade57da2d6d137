"""What is wrong with a request that does not fit its model: place, value, problem and remedy."""

from typing import Any

LONGEST_VALUE = 120
UNION_TAGS = frozenset({"id", "label", "recipe", "str", "LunchItem", "LabelFood"})
"""Names pydantic puts into a place for the branch of a union it tried; no part of the request."""

REMEDIES: dict[str, str] = {
    "missing": "Add this field.",
    "extra_forbidden": "Take this field out, or check its spelling against the API documentation.",
    "finite_number": "Give a finite number.",
    "json_invalid": "Send well-formed JSON.",
    "date_from_datetime_parsing": "Write the day as YYYY-MM-DD.",
    "date_from_datetime_inexact": "Write the day as YYYY-MM-DD, without a time.",
}
COMPARED = {
    "greater_than": "more than",
    "greater_than_equal": "at least",
    "less_than": "less than",
    "less_than_equal": "at most",
}


def shown(value: object) -> str:
    """A value as text, cut to a readable length."""
    text = value if isinstance(value, str) else repr(value)
    return text if len(text) <= LONGEST_VALUE else text[: LONGEST_VALUE - 3] + "..."


def request_fault(error: Any, skip: int = 0) -> dict[str, str]:
    """One of pydantic's errors as pointer, value, problem and remedy (``skip``: outer parts of the place to drop)."""
    parts = [str(part) for part in error["loc"][skip:] if not (isinstance(part, str) and part in UNION_TAGS)]
    pointer = "".join("/" + part.replace("~", "~0").replace("/", "~1") for part in parts)
    kind = str(error["type"])
    problem = str(error["msg"]).removeprefix("Value error, ")
    if kind == "json_invalid":
        problem = f"is no JSON: {error['ctx']['error']}"
    value = "nothing" if kind == "missing" else shown(error["input"])
    return {"pointer": pointer, "value": value, "problem": problem, "remedy": _remedy(kind, error)}


def _remedy(kind: str, error: Any) -> str:
    if kind in REMEDIES:
        return REMEDIES[kind]
    context = error.get("ctx") or {}
    if kind == "literal_error":
        return f"Give one of: {context.get('expected')}."
    if kind in COMPARED:
        return f"Give {COMPARED[kind]} {next(iter(context.values()), '')}."
    if kind == "value_error":
        return "Mend it as said."
    return f"Expected: {error['msg'][:1].lower() + error['msg'][1:]}."
