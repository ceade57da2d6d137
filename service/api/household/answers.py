"""How household requests are answered: whose key, which rights, which version, once or again; in one transaction.

An endpoint is ``def endpoint(call: Call) -> Answer`` and runs in a worker thread.
"""

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import anyio.to_thread
import orjson
from fastapi.routing import APIRoute
from starlette.datastructures import Headers, QueryParams
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from service.api.household.opened import Caller
from service.api.json_route import JSON, read_body, refuse_parameters
from service.api.problems import ApiProblem
from service.domain.errors import StaleEdit
from service.jobs.household.records import Days
from service.jobs.request_faults import shown
from service.store.database import Store
from service.store.kept_replies import KeptReply, Taken, fill_place, find_reply, take_place
from service.store.records import Connection

MERGE_PATCH = "application/merge-patch+json"
ENTITY_TAG = re.compile(r'(?:W/)?"[\x21\x23-\x7e\x80-\xff]*"')
"""RFC 9110 section 8.8.3."""
TAG_LIST = re.compile(rf"{ENTITY_TAG.pattern}(?:\s*,\s*{ENTITY_TAG.pattern})*")
REPEAT_KEY = re.compile(
    r'"((?:[\x20\x21\x23-\x5b\x5d-\x7e]|\\["\\]){1,255})"|([\x21\x23-\x2b\x2d-\x3a\x3c-\x7e]{1,255})'
)
"""A String of RFC 8941, as the draft on Idempotency-Key has it; bare words are understood too."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What is answered: a status, a body (None: no body), and headers."""

    status: int
    body: dict[str, Any] | None
    headers: dict[str, str] = field(default_factory=dict)
    text: bytes | None = None
    """The body in another form than JSON, with its Content-Type among the headers."""

    def written(self) -> bytes:
        """The body's bytes."""
        if self.text is not None:
            return self.text
        return b"" if self.body is None else orjson.dumps(self.body)


@dataclass(frozen=True, slots=True)
class Call:
    """One request of a household."""

    household: UUID
    rights: str
    store: Store
    method: str
    path: str
    address: dict[str, str]
    query: QueryParams
    headers: Headers
    body: bytes

    def days(self) -> Days | None:
        """The days that may be written about: with the right to pack, today and a day either way for time zones."""
        if self.rights == "keep":
            return None
        today = today_here()
        return today - timedelta(days=1), today + timedelta(days=1)

    def require_version(self, version: int) -> None:
        """Raise unless If-Match names the version (RFC 9110 section 13.1.1), compared strongly."""
        given = self.headers.get("if-match")
        if given is None:
            raise ApiProblem(
                "precondition-required",
                "There is no If-Match. Read the record, and send its ETag as If-Match with the edit.",
            )
        if given.strip() != "*" and etag(version) not in _tags("If-Match", given):
            raise StaleEdit(
                pointer="/version",
                value=given[:80],
                problem=f"is not its version now, which is {etag(version)}",
                remedy="Read it again, make the edit on what it holds now, and send it with the new ETag.",
            )

    def is_known(self, version: int) -> bool:
        """Whether If-None-Match names the version."""
        return is_known(self.headers, version)

    def once(self, create: Callable[[Connection], Answer], secrets: frozenset[str] = frozenset()) -> Answer:
        """Carry out a creation; with Idempotency-Key, once for all requests of that key within a day.

        ``secrets``: fields of the body that are shown once and kept nowhere; a repeated request gets null for them.
        """
        key = self._repeat_key()
        if key is None:
            with self.store.writing() as connection:
                return create(connection)
        asked = hashlib.sha256(b"\0".join((self.method.encode(), self.path.encode(), self.body))).hexdigest()
        try:
            return self._once(key, asked, create, secrets)
        except Taken:  # by a request that ran at the same time; its reply is there now
            return self._once(key, asked, create, secrets)

    def _once(self, key: str, asked: str, create: Callable[[Connection], Answer], secrets: frozenset[str]) -> Answer:
        with self.store.writing() as connection:
            kept = find_reply(connection, self.household, key)
            if kept is not None:
                return _again(kept, key, asked)
            take_place(connection, self.household, key, asked)
            answer = create(connection)
            shown = {**(answer.body or {}), **dict.fromkeys(secrets)}
            fill_place(connection, self.household, key, answer.status, answer.headers, orjson.dumps(shown))
            return answer

    def _repeat_key(self) -> str | None:
        given = self.headers.get("idempotency-key")
        if given is None:
            return None
        found = REPEAT_KEY.fullmatch(given.strip())
        if found is None:
            raise ApiProblem(
                "malformed-header", 'Idempotency-Key is no text of 1 to 255 characters, e.g. "8e03978e-40d5-43dd".'
            )
        return found[1] or found[2]


def _again(kept: KeptReply, key: str, asked: str) -> Answer:
    if kept.request_hash != asked:
        problem, remedy = "came with another address or body before", "Give each creation a key of its own."
        error = {"value": shown(key), "detail": problem, "remedy": remedy, "slug": "idempotency-key-reused"}
        raise ApiProblem(
            "idempotency-key-reused",
            f"This Idempotency-Key {problem}. {remedy}",
            errors=[{"pointer": "Idempotency-Key", **error}],
        )
    return Answer(kept.status, orjson.loads(kept.reply), kept.headers)


def etag(version: int) -> str:
    """The strong entity tag of a version."""
    return f'"{version}"'


def is_known(headers: Headers, version: int) -> bool:
    """Whether If-None-Match names a version (RFC 9110 section 13.1.2), compared weakly."""
    given = headers.get("if-none-match")
    if given is None:
        return False
    return given.strip() == "*" or etag(version) in [tag.removeprefix("W/") for tag in _tags("If-None-Match", given)]


def _tags(header: str, given: str) -> list[str]:
    if not TAG_LIST.fullmatch(given.strip()):
        raise ApiProblem("malformed-header", f'{header} is no list of entity tags, e.g. "3".')
    return ENTITY_TAG.findall(given)


def today_here() -> date:
    """Today, in UTC."""
    return datetime.now(UTC).date()


Endpoint = Callable[[Call], Answer]

FOR_PACKING = frozenset(
    {("POST", "/v1/lunches"), ("PUT", "/v1/lunches/{lunch_id}"), ("PATCH", "/v1/lunches/{lunch_id}")}
)
"""What a key with the right to pack may write; the days are limited besides (``Call.days``)."""


class HouseholdRoute(APIRoute):
    """A route of FastAPI whose endpoint takes a ``Call``; what it is documented with stands in ``openapi_extra``.

    Reading is open to every key; the addresses ``FOR_PACKING`` may be written to by those that log the day's lunches.
    """

    def __init__(self, path: str, endpoint: Endpoint, *, method: str, words: str, **named: Any) -> None:
        def documented() -> None:
            """Stands for the endpoint, whose one parameter is nothing that a caller sends."""

        super().__init__(path, documented, methods=[method], description=words, response_model=None, **named)
        self.app = HouseholdAnswer(endpoint, pack=(method, path) in FOR_PACKING)


class HouseholdAnswer:
    """An ASGI application that answers one method of one address of a household."""

    def __init__(self, endpoint: Endpoint, pack: bool) -> None:
        self.endpoint = endpoint
        self.pack = pack

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Whose, whether, what; then work in a thread and write."""
        caller: Caller | None = scope.get("household")
        if caller is None:
            raise ApiProblem(
                "access-key-needed",
                "What a household keeps needs the household's access key. Send it as 'Authorization: Bearer <key>'.",
                {"WWW-Authenticate": "Bearer"},
            )
        method = scope["method"]
        if not (method == "GET" or caller.rights == "keep" or (self.pack and caller.rights == "pack")):
            raise ApiProblem(
                "forbidden-right",
                f"This access key has the rights {caller.rights!r}. Use one with the rights 'keep'.",
            )
        if method != "GET" and scope["query_string"]:
            refuse_parameters(scope)
        body = b""
        if method == "PATCH":
            body = await read_body(scope, receive, MERGE_PATCH.encode(), "not-merge-patch")
        elif method in ("POST", "PUT"):
            body = await read_body(scope, receive)
        call = Call(
            household=caller.household,
            rights=caller.rights,
            store=caller.store,
            method=method,
            path=scope["path"],
            address=scope["path_params"],
            query=QueryParams(scope["query_string"]),
            headers=Headers(scope=scope),
            body=body,
        )
        answer = await anyio.to_thread.run_sync(self.endpoint, call)
        reply = Response(answer.written(), answer.status, answer.headers, None if answer.body is None else JSON)
        await reply(scope, receive, send)
