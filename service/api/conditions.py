"""Headers that make a request conditional: If-Match, If-None-Match, Idempotency-Key. Dependencies of the endpoints."""

import re
from collections.abc import Callable
from typing import Annotated

from fastapi import Depends, Header

from service.api.problems import ApiProblem
from service.domain.errors import StaleEdit
from service.domain.messages import message

ENTITY_TAG = re.compile(r'(?:W/)?"[\x21\x23-\x7e\x80-\xff]*"')
"""RFC 9110 section 8.8.3."""
TAG_LIST = re.compile(rf"{ENTITY_TAG.pattern}(?:\s*,\s*{ENTITY_TAG.pattern})*")
REPEAT_KEY = re.compile(
    r'"((?:[\x20\x21\x23-\x5b\x5d-\x7e]|\\["\\]){1,255})"|([\x21\x23-\x2b\x2d-\x3a\x3c-\x7e]{1,255})'
)
"""A String of RFC 8941, as the draft on Idempotency-Key has it; bare words are understood too."""

Tag = r'(W/)?"[!#-~]*"'
TAGS_OR_STAR = rf"^({Tag}(\s*,\s*{Tag})*|\*)$"
REPEAT_KEY_FORM = r'^("([ !#-\[\]-~]|\\["\\]){1,255}"|[!#-+\--:<-~]{1,255})$'
"""The same forms as JSON Schema writes them, for the documentation; what does not fit is answered 400, not 422."""

Matches = Callable[[int], None]
"""Raises unless an edit was made from this version."""
MatchesOrNone = Callable[[int | None], None]
"""Raises unless this version may be replaced, or with None, unless there may be none yet."""
Known = Callable[[str], bool]
"""Whether the caller has what this entity tag stands for."""


def etag(version: int) -> str:
    """The strong entity tag of a version."""
    return f'"{version}"'


async def edited_from(
    if_match: Annotated[
        str | None,
        Header(
            alias="If-Match",
            description="Needed. The ETag of the record as it was read; `*` for whatever it is now.",
            json_schema_extra={"pattern": TAGS_OR_STAR},
        ),
    ] = None,
) -> Matches:
    """The version that an edit was made from (RFC 9110 section 13.1.1), compared strongly."""

    def matches(version: int) -> None:
        if if_match is None:
            raise ApiProblem("precondition-required", message("fault.no-if-match"))
        if if_match.strip() != "*" and etag(version) not in _tags("If-Match", if_match):
            raise StaleEdit(
                pointer="/version",
                value=if_match[:80],
                problem=message("fault.other-version", version=etag(version)),
            )

    return matches


async def put_over(
    if_match: Annotated[
        str | None,
        Header(
            alias="If-Match",
            description="The ETag of what is there, as it was read: it is replaced only while it is that.",
            json_schema_extra={"pattern": TAGS_OR_STAR},
        ),
    ] = None,
    if_none_match: Annotated[
        str | None,
        Header(
            alias="If-None-Match",
            description="`*`: keep it only if there is none yet. One of If-Match and If-None-Match is needed.",
            json_schema_extra={"pattern": TAGS_OR_STAR},
        ),
    ] = None,
) -> MatchesOrNone:
    """What a PUT to an address of the caller's own choosing may replace (RFC 9110 sections 13.1.1 and 13.1.2)."""

    def matches(version: int | None) -> None:
        if if_match is None and if_none_match is None:
            raise ApiProblem("precondition-required", message("fault.no-if-match-or-none-match"))
        tag = None if version is None else etag(version)
        if if_match is not None:
            expected = [tag] if if_match.strip() == "*" else _tags("If-Match", if_match)
            if tag is None or tag not in expected:
                raise _stale("/version", if_match, tag)
        if if_none_match is not None:
            refused = [tag] if if_none_match.strip() == "*" else _tags("If-None-Match", if_none_match)
            if tag is not None and tag in [one and one.removeprefix("W/") for one in refused]:
                raise _stale("/if-none-match", if_none_match, tag)

    return matches


def _stale(pointer: str, sent: str, tag: str | None) -> StaleEdit:
    if tag is None:
        return StaleEdit(
            pointer=pointer,
            value=sent[:80],
            problem=message("fault.nothing-here-yet"),
        )
    return StaleEdit(
        pointer=pointer,
        value=sent[:80],
        problem=message("fault.not-to-be-replaced", version=tag),
    )


async def already_known(
    if_none_match: Annotated[
        str | None,
        Header(
            alias="If-None-Match",
            description="The ETag of what the caller has: 304 if it is that still.",
            json_schema_extra={"pattern": TAGS_OR_STAR},
        ),
    ] = None,
) -> Known:
    """What the caller has already (RFC 9110 section 13.1.2), compared weakly."""

    def known(tag: str) -> bool:
        if if_none_match is None:
            return False
        if if_none_match.strip() == "*":
            return True
        return tag in [one.removeprefix("W/") for one in _tags("If-None-Match", if_none_match)]

    return known


async def repeat_key(
    idempotency_key: Annotated[
        str | None,
        Header(
            alias="Idempotency-Key",
            description="A text of the caller's own in quotes, e.g. a new UUID for each creation. A request sent again "
            "with it within a day is answered again and not carried out again.",
            json_schema_extra={"pattern": REPEAT_KEY_FORM},
        ),
    ] = None,
) -> str | None:
    """The key by which a creation is known when it is sent again; None without one."""
    if idempotency_key is None:
        return None
    found = REPEAT_KEY.fullmatch(idempotency_key.strip())
    if found is None:
        raise ApiProblem("malformed-header", message("fault.idempotency-key-form"))
    return found[1] or found[2]


def _tags(header: str, given: str) -> list[str]:
    if not TAG_LIST.fullmatch(given.strip()):
        raise ApiProblem("malformed-header", message("fault.not-entity-tags", header=header))
    return ENTITY_TAG.findall(given)


EditedFrom = Annotated[Matches, Depends(edited_from)]
PutOver = Annotated[MatchesOrNone, Depends(put_over)]
AlreadyKnown = Annotated[Known, Depends(already_known)]
RepeatKey = Annotated[str | None, Depends(repeat_key)]
