"""The routes of one kind of record: list, keep, show, replace, edit, delete; one way for all kinds."""

import hashlib
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Annotated, Any, NamedTuple

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from pydantic import BaseModel, Field

from service.api.answers import (
    AS_JSON,
    BODY_FAULTS,
    ETAG,
    LOCATION,
    V1,
    NoParameters,
    Parameters,
    json_reply,
    not_modified,
    problems,
)
from service.api.bodies import MergePatch, Sent, SentJson
from service.api.conditions import AlreadyKnown, EditedFrom, RepeatKey, etag
from service.api.gate.callers import Keeper, Reader, a_key_to_keep, a_key_to_pack
from service.jobs.household.access.opened import Caller
from service.jobs.household.once import Made, carry_out
from service.jobs.household.records import (
    Days,
    Kept,
    Resource,
    edit_record,
    keep_record,
    list_records,
    replace_record,
    show_record,
    shown_whole,
)
from service.jobs.household.removing import remove_for_good

CREATED, NO_CONTENT = 201, 204
TAG = "household"


class PageQuery(Parameters):
    """Which page of a list."""

    limit: Annotated[int, Field(ge=1)] = Field(50, description="How many on a page; more than 200 gives 200.")
    cursor: Annotated[str, Field(max_length=100)] | None = Field(None, description="The 'next' of the page before.")


class KindOfRecord(NamedTuple):
    """A kind of record over HTTP. ``one`` and ``many``: what it is called in addresses; ``asked``: the form it is sent in.

    ``record``: as it is shown; ``kept``: as it is answered when it was stored; ``page``: a page of a list of them;
    ``where``: the conditions of a list's query; ``key``: what a key must allow to write one.
    """

    resource: Resource
    one: str
    many: str
    about: str
    asked: type[BaseModel]
    record: type[BaseModel]
    kept: type[BaseModel]
    page: type[BaseModel]
    query: type[PageQuery] = PageQuery
    where: Callable[[Any], list[Any]] = lambda _query: []
    for_packing: bool = False
    read_elsewhere: bool = False
    made_elsewhere: bool = False

    @property
    def path(self) -> str:
        """The address of all of them."""
        return f"/{self.many}"

    @property
    def id_name(self) -> str:
        """What its id is called in addresses."""
        return f"{self.one.replace('-', '_')}_id"

    @property
    def name(self) -> str:
        """What it is called, in words."""
        return self.one.replace("-", " ")

    @property
    def names(self) -> str:
        """What several are called, in words."""
        return self.many.replace("-", " ")


def record_router(kind: KindOfRecord) -> APIRouter:
    """All routes of a kind of record; those that read, or make one, are left out of a kind that is read or made elsewhere."""
    router = APIRouter(prefix=V1, dependencies=AS_JSON, tags=[TAG])
    if not kind.read_elsewhere:
        _add_reading(router, kind)
    _add_writing(router, kind)
    return router


def days_of(caller: Caller) -> Days | None:
    """The days a key may write about: with the right to pack, today and a day either way for time zones."""
    if caller.rights == "keep":
        return None
    today = today_here()
    return today - timedelta(days=1), today + timedelta(days=1)


def today_here() -> date:
    """Today, in UTC."""
    return datetime.now(UTC).date()


def request_hash(request: Request, body: bytes) -> str:
    """What makes one creation the same as another: its method, address and body."""
    parts = (request.method.encode(), request.url.path.encode(), body)
    return hashlib.sha256(b"\0".join(parts)).hexdigest()


def _add_reading(router: APIRouter, kind: KindOfRecord) -> None:
    resource, query_model = kind.resource, kind.query

    @router.get(
        kind.path,
        response_model=kind.page,
        responses=problems(),
        summary=f"All {kind.names}",
        operation_id=f"list-{kind.many}",
        description=f"{kind.about} In the order they were stored.",
    )
    def list_all(caller: Reader, query: Annotated[query_model, Query()]) -> Response:  # type: ignore[valid-type]
        asked: Any = query
        with caller.store.reading() as connection:
            where = kind.where(asked)
            return json_reply(list_records(connection, resource, caller.household, asked.limit, asked.cursor, where))

    @router.get(
        f"{kind.path}/{{{kind.id_name}}}",
        response_model=kind.record,
        responses=problems(400, 404) | not_modified(),
        summary=f"One {kind.name}",
        operation_id=f"show-{kind.one}",
        description=f"{kind.about} ETag is its version.",
    )
    def show(
        caller: Reader, _none: NoParameters, known: AlreadyKnown, record_id: Annotated[str, _id_in_path(kind)]
    ) -> Response:
        with caller.store.reading() as connection:
            record = show_record(connection, resource, caller.household, record_id)
            tag = etag(record.version)
            if known(tag):
                return Response(status_code=304, headers={"ETag": tag})
            whole = shown_whole(connection, resource, caller.household, record)
        return json_reply(whole, headers={"ETag": tag})


def _add_writing(router: APIRouter, kind: KindOfRecord) -> None:
    resource = kind.resource
    place = f"{kind.path}/{{{kind.id_name}}}"
    allowed = a_key_to_pack if kind.for_packing else a_key_to_keep
    whole, again = SentJson(kind.asked), SentJson(resource.replacement)
    article = "an" if kind.one[0] in "aeio" else "a"
    if not kind.made_elsewhere:
        _add_making(router, kind, allowed, whole)
    edit_problems = problems(*BODY_FAULTS, 403, 404, 409, 412, 428) | {200: {"headers": ETAG}}

    @router.put(
        place,
        response_model=kind.kept,
        responses=edit_problems,
        summary=f"Replace {article} {kind.name}",
        operation_id=f"replace-{kind.one}",
        description=f"{kind.about} Sent whole; what is left out gets its default.",
    )
    def replace(
        matches: EditedFrom,
        caller: Annotated[Caller, Depends(allowed)],
        sent: Annotated[Sent, Depends(again)],
        record_id: Annotated[str, _id_in_path(kind)],
    ) -> Response:
        with caller.store.writing() as connection:
            kept = replace_record(
                connection, resource, caller.household, record_id, matches, sent.asked, days_of(caller)
            )
        return json_reply(_body(kind, kept), headers={"ETag": etag(kept.record.version)})

    @router.patch(
        place,
        response_model=kind.kept,
        responses=edit_problems,
        summary=f"Edit parts of {article} {kind.name}",
        operation_id=f"edit-{kind.one}",
        description=f"{kind.about} By JSON Merge Patch (RFC 7396): null removes a field; the whole is validated again.",
    )
    def edit(
        matches: EditedFrom,
        caller: Annotated[Caller, Depends(allowed)],
        patch: Annotated[bytes, Depends(MergePatch(kind.asked))],
        record_id: Annotated[str, _id_in_path(kind)],
    ) -> Response:
        with caller.store.writing() as connection:
            kept = edit_record(connection, resource, caller.household, record_id, matches, patch, days_of(caller))
        return json_reply(_body(kind, kept), headers={"ETag": etag(kept.record.version)})

    @router.delete(
        place,
        status_code=NO_CONTENT,
        responses=problems(400, 403, 404, 409, 412, 428),
        summary=f"Delete {article} {kind.name}",
        operation_id=f"remove-{kind.one}",
        description=f"{kind.about} It is deleted with all that hangs on it.",
    )
    def remove(
        caller: Keeper, _none: NoParameters, matches: EditedFrom, record_id: Annotated[str, _id_in_path(kind)]
    ) -> Response:
        remove_for_good(caller.store, caller.household, resource, record_id, matches)
        return Response(status_code=NO_CONTENT)


def _add_making(router: APIRouter, kind: KindOfRecord, allowed: Callable[..., Any], whole: SentJson) -> None:
    resource = kind.resource

    @router.post(
        kind.path,
        status_code=CREATED,
        response_model=kind.kept,
        responses=problems(*BODY_FAULTS, 403, 404, 409) | {CREATED: {"headers": ETAG | LOCATION}},
        summary=f"Keep a new {kind.name}",
        operation_id=f"keep-{kind.one}",
        description=f"{kind.about} With Idempotency-Key, a request sent again within a day is answered again, not "
        "carried out again.",
    )
    def keep(
        request: Request,
        key: RepeatKey,
        caller: Annotated[Caller, Depends(allowed)],
        sent: Annotated[Sent, Depends(whole)],
    ) -> Response:
        def create(connection: Any) -> Made:
            kept = keep_record(connection, resource, caller.household, sent.asked, days_of(caller))
            headers = {"ETag": etag(kept.record.version), "Location": f"/v1{kind.path}/{kept.record.id}"}
            return Made(CREATED, _body(kind, kept), headers)

        made = carry_out(caller.store, caller.household, key, request_hash(request, sent.body), create)
        return json_reply(made.body, made.status, made.headers)


def _body(kind: KindOfRecord, kept: Kept) -> dict[str, Any]:
    """A record just stored; with what was found for it, under the record's name."""
    return kept.shown if kept.extra_reply is None else {kind.one: kept.shown, **kept.extra_reply}


def _id_in_path(kind: KindOfRecord) -> Any:
    return Path(
        alias=kind.id_name,
        description=f"Id of the {kind.name}; GET /v1{kind.path} lists them with their ids.",
        json_schema_extra={"format": "uuid"},
    )
