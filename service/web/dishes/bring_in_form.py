"""The form of a recipe that is brought in: its lines with their answers, and what is asked of the job."""

from collections.abc import Mapping
from typing import Any
from uuid import uuid4

from service.jobs.recipes.requests import LineAnswer, RecipeReadingRequest
from service.web.forms.form import Form
from service.web.forms.numbers import figure, number_in
from service.web.language.chosen import text

OUT = "yes"
MOST_GRAMS = 50_000


def form_to_begin() -> Form:
    """The form for a recipe that is still to be given."""
    return Form({"lines": [""], "country": [""]})


def form_of_reading(reading: Mapping[str, Any], before: Form | None = None) -> Form:
    """The form with how a recipe was read; ``before``: the form that was answered, whose mark and words are kept."""
    given = {
        "repeat": before.text("repeat") if before is not None and "repeat" in before else uuid4().hex,
        "lines": "\n".join(one["text"] for one in reading["lines"]),
        "address": reading["address"] or (before.text("address") if before is not None else ""),
        "name": before.text("name") if before is not None and "name" in before else _name(reading),
        "portions": before.text("portions")
        if before is not None and "portions" in before
        else figure(reading["portions"]),
        "country": reading["country"] or "",
    }
    for one in reading["lines"]:
        line = one["line"]
        given |= {
            f"food-{line}": one["food"] or "",
            f"food-shown-{line}": one["food"] or "",
            f"grams-{line}": _grams(one["grams"]),
            f"grams-shown-{line}": _grams(one["grams"]),
            f"out-{line}": OUT if one["state"] == "left_out" else "",
        }
    return Form({name: [value] for name, value in given.items()})


def _grams(grams: float | None) -> str:
    """Grams to a tenth, as a kitchen scale has them; less than a gram as it is."""
    return figure(grams if grams is None or grams < 1 else round(grams, 1))


def _name(reading: Mapping[str, Any]) -> str:
    """The name that the recipe has; empty where it has none, so that it is asked."""
    return str(reading["name"]) if reading["named"] else ""


def request_of(form: Form, language: str) -> RecipeReadingRequest:
    """What is asked of the job; texts that are no numbers are noted in the form.

    A weight that was shown for another food than the one that is chosen now is worked out anew.
    """
    lines = [line for line in form.text("lines").splitlines() if line.strip()]
    answers = [_answer(form, line, language) for line in range(len(lines))]
    return RecipeReadingRequest(
        text="\n".join(lines),
        country=form.text("country") or None,
        name=form.text("name") or None,
        portions=None,
        answers=answers,
    )


def _answer(form: Form, line: int, language: str) -> LineAnswer:
    words, food = form.text(f"words-{line}"), form.text(f"food-{line}")
    typed = form.text(f"grams-{line}")
    shown_before = typed == form.text(f"grams-shown-{line}")
    other_food = bool(words) or food != form.text(f"food-shown-{line}")
    grams = None if shown_before and other_food else number_in(form, f"grams-{line}", language)
    if grams is not None and not 0 < grams <= MOST_GRAMS:
        form.wrong(f"grams-{line}", text("dishes.grams-between", language))
        grams = None
    return LineAnswer(
        line=line,
        food=None if words else food or None,
        words=words[:120] or None,
        grams=grams,
        leave_out=form.text(f"out-{line}") == OUT,
    )


def body_to_keep(form: Form, reading: Mapping[str, Any], language: str) -> dict[str, Any]:
    """The dish as it is kept; what is still to be answered, and a missing name or number, is noted in the form."""
    if not form.text("name"):
        form.wrong("name", text("dishes.give-name", language))
    portions = number_in(form, "portions", language)
    if portions is None and not form.fault_of("portions"):
        form.wrong("portions", text("dishes.give-portions", language))
    for one in reading["lines"]:
        if one["state"] == "ask":
            field = "food" if one["food"] is None else "grams"
            sentences = " ".join(doubt["sentence"] for doubt in one["doubts"])
            form.wrong(f"{field}-{one['line']}", text("dishes.of-line", language, line=one["text"], says=sentences))
    if reading["dish"] is None and reading["to_answer"] == 0:
        form.wrong("lines", text("dishes.no-line-left", language))
    ingredients = [] if reading["dish"] is None else reading["dish"]["ingredients"]
    body = {"name": form.text("name"), "portions": portions, "ingredients": ingredients}
    return {**body, "from_address": form.text("address")}
