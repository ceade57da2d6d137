"""Requests over HTTP, each answer held against what is promised of all answers."""

import http.client
import json
import re
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from service.api.problems import MEDIA_TYPE
from service.api.replies import Problem
from tests.chaos.findings import Notes

PATIENCE = 90.0
"""Seconds after which a caller gives up and asks again."""
LONG = 30.0
"""Seconds after which an answer, whatever it says, came too late."""
AGAIN_S = 0.2
COME_AGAIN = frozenset({408, 429, 503})
NOT_SHOWN = (b"Traceback (most recent", b"Internal Server Error", b"sqlalchemy", b"psycopg")


class NoAnswer(Exception):
    """The answer did not come, or not whole: what was asked may have been done or not."""


@dataclass(frozen=True)
class Heard:
    """An answer. ``unsure``: an answer to the same request was lost before, or said that it failed."""

    status: int
    headers: Mapping[str, str]
    body: bytes
    unsure: bool = False

    @property
    def json(self) -> Any:
        """The body."""
        return json.loads(self.body)

    @property
    def tag(self) -> str:
        """The entity tag."""
        return self.headers.get("etag", "")

    def told(self) -> str:
        """The beginning of it."""
        return f"{self.status} {self.headers.get('content-type')} {self.body[:400]!r}"


@dataclass
class Caller:
    """Somebody who asks. ``headers``: what every request carries; ``stop``: says when to ask no more."""

    port: int
    notes: Notes
    headers: dict[str, str]
    stop: Callable[[], bool] = lambda: False

    def once(
        self, method: str, path: str, body: bytes | None = None, headers: Mapping[str, str] | None = None
    ) -> Heard:
        """One request; ``NoAnswer`` where none comes."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE)
        begun = time.monotonic()
        try:
            connection.request(method, path, body, {**self.headers, **(headers or {})})
            answer = connection.getresponse()
            heard = Heard(answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read())
        except TimeoutError as fault:
            self.notes.found(f"no answer in {PATIENCE:.0f} s", f"{method} {path}")
            raise NoAnswer from fault
        except (OSError, http.client.HTTPException) as fault:
            self.notes.count("answers that did not come")
            raise NoAnswer from fault
        finally:
            connection.close()
        took = time.monotonic() - begun
        self.notes.waited(took)
        if took > LONG:
            self.notes.found(
                f"an answer took more than {LONG:.0f} s", f"{method} {path} took {took:.0f} s: {heard.told()}"
            )
        self.notes.count(
            f"answers {heard.status // 100}xx" if heard.status not in COME_AGAIN else f"answers {heard.status}"
        )
        look(self.notes, f"{method} {path} {(body or b'')[:300]!r}", path, heard)
        return heard

    def until_answered(
        self, method: str, path: str, body: bytes | None = None, headers: Mapping[str, str] | None = None
    ) -> Heard:
        """Ask again until it is answered; ``NoAnswer`` only when there is no more time."""
        unsure = False
        while True:
            try:
                heard = self.once(method, path, body, headers)
            except NoAnswer:
                unsure = True
                time.sleep(AGAIN_S)
            else:
                if heard.status not in COME_AGAIN and heard.status != 500:
                    if unsure and heard.status < 400 and method != "GET":
                        self.notes.count("writes asked for again and answered")
                    return Heard(heard.status, heard.headers, heard.body, unsure)
                unsure = True
                time.sleep(AGAIN_S)
            if self.stop():
                raise NoAnswer


def look(notes: Notes, asked: str, path: str, heard: Heard) -> None:
    """Hold the form of an answer against what is promised."""
    where = re.sub(r"[0-9a-f-]{36}", "{id}", path.partition("?")[0])
    told = f"{asked}\n-> {heard.told()}"
    media = heard.headers.get("content-type", "").partition(";")[0]
    if heard.status >= 500 and heard.status != 503:
        notes.found(f"{heard.status} from {where}", told)
    for sign in NOT_SHOWN:
        if sign in heard.body:
            notes.found(f"{where} shows {sign.decode()}", told)
    if heard.status in COME_AGAIN and "retry-after" not in heard.headers:
        notes.found(f"{heard.status} without Retry-After ({'API' if path.startswith('/v1/') else 'page'})", told)
    if heard.status < 400:
        return
    if not path.startswith("/v1/"):
        if media != "text/html":
            notes.found(f"{heard.status} of a page is {media!r}", told)
        return
    if media != MEDIA_TYPE:
        notes.found(f"{heard.status} of the API is {media!r}", told)
        return
    try:
        problem = Problem.model_validate_json(heard.body)
        if problem.status != heard.status:
            notes.found("a problem names another status", told)
    except ValidationError as fault:
        notes.found("a problem is not of its model", f"{told}\n{fault}")
