"""What is wrong with an answer: a status that is ours or not in the document, a form that is not promised, what was sent shown raw."""

import re
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import orjson
from fastapi import FastAPI
from fastapi.routing import APIRoute
from pydantic import TypeAdapter, ValidationError

from service.api.problems import MEDIA_TYPE, PROBLEMS
from service.api.replies import Problem
from tests.fuzz.asking import Answer, Asked
from tests.fuzz.mutations import MARK

OF_PAGES = frozenset({200, 303, 400, 401, 403, 404, 405, 409, 412, 413, 421, 422, 428})
"""What a page or form may be answered with."""
PROBLEM = TypeAdapter(Problem)
LINE = re.compile(r'File "[^"]*?((?:service|site-packages)/[^"]+)", line (\d+)')


@dataclass
class Finding:
    """Requests that something of the same kind is wrong with: the first of them whole, and how many."""

    kind: str
    first: str
    count: int = 1


@dataclass
class Judge:
    """Looks at answers. ``logged``: what the application wrote to its log since the last answer."""

    document: dict[str, Any]
    app: FastAPI
    logged: list[str] = field(default_factory=list)
    findings: dict[str, Finding] = field(default_factory=dict)
    statuses: Counter[tuple[str, int]] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        self.documented = {
            (method.upper(), template): {int(status) for status in operation["responses"]}
            for template, methods in self.document["paths"].items()
            for method, operation in methods.items()
        }
        self.models = {
            (method, route.path): TypeAdapter(route.response_model)
            for route in _routes(self.app)
            for method in route.methods
            if route.response_model is not None
        }

    def look(self, asked: Asked, answer: Answer) -> None:
        """Note what is wrong with an answer."""
        self.statuses["API" if asked.of_api else "pages", answer.status] += 1
        for kind in self._wrong(asked, answer):
            place = (
                f"{asked.method} {asked.template}: {kind}"
                if asked.of_api
                else f"page {asked.method} {asked.template}: {kind}"
            )
            told = f"{asked.shown()}\n    -> {answer.status} {answer.media} {answer.body[:700]!r}"
            if place in self.findings:
                self.findings[place].count += 1
            else:
                self.findings[place] = Finding(place, told)
                print(f"FOUND: {place}\n{told}", flush=True)
        self.logged.clear()

    def _wrong(self, asked: Asked, answer: Answer) -> list[str]:
        if answer.fault:
            return [answer.fault[:200]]
        if answer.status >= 500 and answer.status != 501:
            return [f"{answer.status} {self._where()}"]
        wrong = [f"logged: {one.splitlines()[0][:150]}" for one in self.logged]
        if answer.status == 429:
            wrong.append("429: the request was not looked at")
        if b"Traceback (most recent" in answer.body:
            wrong.append("a traceback is shown")
        if answer.media == "text/html" and MARK.encode() in answer.body:
            wrong.append("what was sent is shown as it is")
        if any("\r" in value or "\n" in value for value in answer.headers.values()):
            wrong.append("a line break in a header")
        there = answer.headers.get("location", "/")
        if not there.startswith("/") or there.startswith(("//", "/\\")):
            wrong.append(f"leads to another site: {there[:80]}")
        return wrong + (
            self._wrong_of_api(asked, answer)
            if asked.path.startswith("/v1/") or (asked.path.startswith("/problems") and not asked.by_browser)
            else self._wrong_of_page(answer)
        )

    def _wrong_of_api(self, asked: Asked, answer: Answer) -> list[str]:
        wrong: list[str] = []
        known = self.documented.get((asked.method, asked.template))
        as_made = re.fullmatch(re.sub(r"\{\w+\}", "[^/]+", asked.template), asked.path, re.DOTALL) is not None
        if known is not None and as_made and answer.status not in known:
            wrong.append(f"{answer.status} is not in the document")
        if answer.status >= 400 and asked.method != "HEAD":
            if answer.media != MEDIA_TYPE:
                return [*wrong, f"{answer.status} is {answer.media!r}, not a problem"]
            try:
                problem = PROBLEM.validate_json(answer.body)
            except ValidationError as fault:
                return [*wrong, f"no problem by its model: {fault.errors()[0]['loc']} {fault.errors()[0]['msg']}"]
            slug = problem.type.removeprefix("/problems/")
            if problem.status != answer.status or PROBLEMS.get(slug) != answer.status:
                wrong.append(f"{answer.status} with a problem {problem.type} of {problem.status}")
        elif answer.media == "application/json" and answer.body:
            model = self.models.get((asked.method, asked.template)) if as_made else None
            try:
                if model is None:
                    orjson.loads(answer.body)
                else:
                    model.validate_json(answer.body)
            except (ValidationError, orjson.JSONDecodeError) as fault:
                first = fault.errors()[0] if isinstance(fault, ValidationError) else {"loc": "", "msg": str(fault)}
                place = re.sub(r"\d+", "N", str(first["loc"]))
                wrong.append(f"reply is not of its model: {place} {first['msg']}")
        return wrong

    def _wrong_of_page(self, answer: Answer) -> list[str]:
        if answer.status not in OF_PAGES:
            return [f"a page answers {answer.status}"]
        if answer.status >= 400 and answer.media not in ("text/html", MEDIA_TYPE):
            return [f"{answer.status} is {answer.media!r}, not a page"]
        return []

    def _where(self) -> str:
        """The last place of ours in the log, so that faults of one cause are one finding."""
        for one in reversed(self.logged):
            places = LINE.findall(one)
            if places:
                ours = [place for place in places if place[0].startswith("service/")] or places
                return f"{one.splitlines()[0][:120]} in {ours[-1][0]}:{ours[-1][1]} (raised in {places[-1][0]}:{places[-1][1]})"
        return " ".join(one[:200] for one in self.logged)


def _routes(app: FastAPI) -> list[APIRoute]:
    return [one for one in app.routes if isinstance(one, APIRoute)]
