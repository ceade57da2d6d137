"""The routes of one kind of record: list, keep, show, replace, edit, take out; one way for all kinds."""

from collections.abc import Callable
from typing import Annotated, Any, NamedTuple

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from service.api.household.answers import MERGE_PATCH, Answer, Call, HouseholdRoute, etag
from service.api.json_route import JSON
from service.api.problems import BadParameters
from service.api.routes import problems
from service.jobs.household.records import (
    Kept,
    Resource,
    edit_record,
    keep_record,
    list_records,
    read_asked,
    remove_record,
    replace_record,
    show_record,
    shown,
)
from service.store.records import Record

TAG = "household"
CREATED, NO_CONTENT, NOT_MODIFIED = 201, 204, 304
ALWAYS = (401, 429, 503)
A_PATCH = {
    "type": "object",
    "description": "Fields of the record with their new values; null takes a field out.",
}


REPEAT_KEY_FORM = r'^("([ !#-\[\]-~]|\\["\\]){1,255}"|[!#-+\--:<-~]{1,255})$'
"""A String of RFC 8941, or a bare word; see ``answers.REPEAT_KEY``."""


class Words(NamedTuple):
    """How a kind of record is spoken of. ``one``: e.g. ``child``; ``schema``: name of the form it is sent in."""

    path: str
    id_name: str
    one: str
    many: str
    schema: str
    about: str


class PageQuery(BaseModel):
    """Which page of a list."""

    model_config = ConfigDict(extra="forbid")

    limit: Annotated[int, Field(ge=1)] = Field(50, description="How many on a page; more than 200 gives 200.")
    cursor: Annotated[str, Field(max_length=100)] | None = Field(None, description="The 'next' of the page before.")


Where = Callable[[Any], list[Any]]


def read_query(call: Call, model: type[BaseModel]) -> Any:
    """The query parameters; ``BadParameters`` if they do not fit."""
    try:
        return TypeAdapter(model).validate_python(dict(call.query))
    except ValidationError as fault:
        errors = [{**error, "loc": ("query", *error["loc"])} for error in fault.errors(include_url=False)]
        raise BadParameters(errors) from fault


def of_record(call: Call, record: Record, status: int = 200) -> Answer:
    """One record with its entity tag; 304 for who has this version."""
    tag = {"ETag": etag(record.version)}
    if status == 200 and call.method == "GET" and call.is_known(record.version):
        return Answer(NOT_MODIFIED, None, tag)
    return Answer(status, shown(record), tag)


def of_kept(words: Words, kept: Kept, status: int) -> Answer:
    """A record just kept; with what was found beside it, under the record's name."""
    record = shown(kept.record)
    headers = {"ETag": etag(kept.record.version)}
    if status == CREATED:
        headers["Location"] = f"{words.path}/{kept.record.id}"
    return Answer(status, record if kept.beside is None else {words.one: record, **kept.beside}, headers)


def record_routes(
    resource: Resource,
    words: Words,
    *,
    query: type[PageQuery] = PageQuery,
    where: Where = lambda _query: [],
    reading: bool = True,
) -> list[HouseholdRoute]:
    """All routes of a kind of record; without ``reading`` those that change something."""

    def list_all(call: Call) -> Answer:
        asked = read_query(call, query)
        with call.store.reading() as connection:
            return Answer(
                200,
                list_records(connection, resource, call.household, asked.limit, asked.cursor, where(asked)),
            )

    def keep(call: Call) -> Answer:
        asked = read_asked(resource, call.body)
        return call.once(
            lambda connection: of_kept(
                words, keep_record(connection, resource, call.household, asked, call.days()), CREATED
            )
        )

    def show(call: Call) -> Answer:
        read_query(call, NoQuery)
        with call.store.reading() as connection:
            return of_record(call, show_record(connection, resource, call.household, call.address[words.id_name]))

    def replace(call: Call) -> Answer:
        record_id = call.address[words.id_name]
        with call.store.writing() as connection:
            kept = replace_record(
                connection, resource, call.household, record_id, call.require_version, call.body, call.days()
            )
        return of_kept(words, kept, 200)

    def edit(call: Call) -> Answer:
        record_id = call.address[words.id_name]
        with call.store.writing() as connection:
            kept = edit_record(
                connection, resource, call.household, record_id, call.require_version, call.body, call.days()
            )
        return of_kept(words, kept, 200)

    def remove(call: Call) -> Answer:
        with call.store.writing() as connection:
            remove_record(connection, resource, call.household, call.address[words.id_name], call.require_version)
        return Answer(NO_CONTENT, None)

    one, many = words.one, words.many
    place = f"{words.path}/{{{words.id_name}}}"
    make = _Maker(words)
    routes = [
        make.route("GET", words.path, list_all, f"list-{many}", f"All {many}", f"{words.about} In the order they were kept.", 422, query=query),
        make.route(
            "POST", words.path, keep, f"keep-{one}", f"Keep a new {one}",
            f"{words.about} With Idempotency-Key, a request sent again within a day is answered again, not carried out again.",
            400, 403, 404, 409, 413, 415, 422, body=words.schema, status=CREATED, repeat=True,
        ),
        make.route("GET", place, show, f"show-{one}", f"One {one}", f"{words.about} ETag is its version.", 400, 404, 422, known=True),
        make.route(
            "PUT", place, replace, f"replace-{one}", f"Replace a {one}", f"{words.about} Sent whole; what is left out gets its default.",
            400, 403, 404, 409, 412, 413, 415, 422, 428, body=words.schema, match=True,
        ),
        make.route(
            "PATCH", place, edit, f"edit-{one}", f"Edit parts of a {one}",
            f"{words.about} By JSON Merge Patch (RFC 7396): null takes a field out; the whole is validated again.",
            400, 403, 404, 409, 412, 413, 415, 422, 428, body=None, media=MERGE_PATCH, match=True,
        ),
        make.route(
            "DELETE", place, remove, f"remove-{one}", f"Take out a {one}", f"{words.about} It is gone for good, with all that hangs on it.",
            400, 403, 404, 409, 412, 422, 428, status=NO_CONTENT, match=True,
        ),
    ]  # fmt: skip
    return routes if reading else [route for route in routes if "GET" not in (route.methods or ())]


class NoQuery(BaseModel):
    """No parameters at all."""

    model_config = ConfigDict(extra="forbid")


class _Maker:
    """Makes routes with their documentation."""

    def __init__(self, words: Words) -> None:
        self.words = words

    def route(
        self,
        method: str,
        path: str,
        endpoint: Callable[[Call], Answer],
        operation_id: str,
        summary: str,
        about: str,
        *statuses: int,
        status: int = 200,
        body: str | None = None,
        media: str = JSON,
        query: type[BaseModel] | None = None,
        match: bool = False,
        known: bool = False,
        repeat: bool = False,
    ) -> HouseholdRoute:
        """One route."""
        return household_route(
            method, path, endpoint, operation_id=operation_id, summary=summary, words=about, statuses=statuses,
            status=status, body=body, media=media, query=query, headers=header_parameters(match=match, known=known, repeat=repeat),
        )  # fmt: skip


def household_route(
    method: str,
    path: str,
    endpoint: Callable[[Call], Answer],
    *,
    operation_id: str,
    summary: str,
    words: str,
    statuses: tuple[int, ...] = (),
    status: int = 200,
    body: str | None = None,
    media: str = JSON,
    query: type[BaseModel] | None = None,
    headers: tuple[dict[str, Any], ...] = (),
    formats: dict[str, dict[str, Any]] | None = None,
) -> HouseholdRoute:
    """A route with its documentation. ``formats``: forms of path parameters that are no ids."""
    parameters = [_of_path(name, (formats or {}).get(name)) for name in _names(path)]
    parameters += [] if query is None else _of_query(query)
    extra: dict[str, Any] = {"security": [{"householdKey": []}]}
    if parameters or headers:
        extra["parameters"] = [*parameters, *headers]
    if body is not None or media != JSON:
        schema = {"$ref": f"#/components/schemas/{body}"} if body is not None else dict(A_PATCH)
        extra["requestBody"] = {"required": True, "content": {media: {"schema": schema}}}
    return HouseholdRoute(
        path,
        endpoint,
        method=method,
        words=words,
        summary=summary,
        operation_id=operation_id,
        tags=[TAG],
        status_code=status,
        responses={**_good(status, headers), **problems(*sorted({*ALWAYS, *statuses}))},
        openapi_extra=extra,
    )


def _good(status: int, headers: tuple[dict[str, Any], ...]) -> dict[int | str, dict[str, Any]]:
    """What the good replies carry besides their body."""
    named = {one["name"] for one in headers}
    tag = {"ETag": {"description": "Its version.", "schema": {"type": "string"}}}
    place = {"Location": {"description": "Its address.", "schema": {"type": "string"}}}
    found: dict[int | str, dict[str, Any]] = {status: {"description": "Done."}}
    if status == CREATED:
        found[status]["headers"] = place
    elif status != NO_CONTENT and named & {"If-Match", "If-None-Match"}:
        found[status]["headers"] = tag
    if "If-None-Match" in named:
        found[NOT_MODIFIED] = {"description": "It is still the version named.", "headers": tag}
    return found


def _names(path: str) -> list[str]:
    return [part[1:-1] for part in path.split("/") if part.startswith("{")]


def _of_path(name: str, schema: dict[str, Any] | None) -> dict[str, Any]:
    return {"name": name, "in": "path", "required": True, "schema": schema or {"type": "string", "format": "uuid"}}


def _of_query(query: type[BaseModel]) -> list[dict[str, Any]]:
    found = query.model_json_schema()
    return [
        {
            "name": name,
            "in": "query",
            "required": name in found.get("required", []),
            "schema": {key: value for key, value in schema.items() if key not in ("title", "description")},
            "description": schema.get("description", ""),
        }
        for name, schema in found["properties"].items()
    ]


def header_parameters(*, match: bool, known: bool, repeat: bool) -> tuple[dict[str, Any], ...]:
    told = (
        (match, "If-Match", True, "The ETag of the record as it was read; * for whatever it is now.", '^"[0-9]+"$|^\\*$'),
        (known, "If-None-Match", False, "The ETag of the record as it is known: 304 if it is that still.", '^"[0-9]+"$'),
        (repeat, "Idempotency-Key", False, 'A text of the caller\'s own, in quotes, e.g. a UUID.', REPEAT_KEY_FORM),
    )  # fmt: skip
    return tuple(
        {
            "name": name,
            "in": "header",
            "required": required,
            "description": words,
            "schema": {"type": "string", "pattern": pattern},
        }
        for wanted, name, required, words, pattern in told
        if wanted
    )
