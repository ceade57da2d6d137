"""What is typed into a form: read with its token, kept when something is wrong with it, and shown again with the faults."""

import hmac
import re
from collections.abc import AsyncIterator, Mapping, Sequence
from contextlib import asynccontextmanager
from typing import Annotated, Any, NamedTuple

from fastapi import Depends, Request
from pydantic import ValidationError
from starlette.datastructures import FormData

from service.api.bodies import announced_bytes
from service.domain.errors import AnyFault, OutsideAgeGroups
from service.jobs.request_faults import NOTHING, request_fault, shown
from service.reference.fault_words import fault_words
from service.web.language.chosen import spoken_text
from service.web.refusals import FormNotOurs, FormTooLarge
from service.web.viewer import Viewer, signed_in

TOKEN_FIELD = "token"  # noqa: S105 - the name of a field, no secret
MOST_FIELDS = 2_000
MOST_FILES = 1
LARGEST_FORM = 1_000_000
LARGEST_WITH_FILE = 12_000_000
"""Bytes; a photograph of a packet as a phone takes it has up to some 8 million."""
LARGEST_EXPORT = 50_000_000
"""Bytes; some hundred photographs of packets as they are kept."""
LARGEST_READ_AWAY = 60_000_000
"""Bytes of what is too large that are still read, so that the answer is seen."""
NOT_TYPED = re.compile(r"[0-9a-f]{32}|[0-9a-f-]{36}|\d{1,6}")
"""Ids and marks that fields carry along."""


class FieldFault(NamedTuple):
    """A fault of a form: the field's name, or empty for the whole, and a sentence that says what to do."""

    field: str
    sentence: str


class Form:
    """What was typed: texts by the names of the fields, and the faults found in them."""

    def __init__(
        self, given: Mapping[str, Sequence[str]] | None = None, files: Mapping[str, Any] | None = None
    ) -> None:
        self._given = {name: list(values) for name, values in (given or {}).items()}
        self.files = dict(files or {})
        self.faults: list[FieldFault] = []

    def __contains__(self, name: str) -> bool:
        return name in self._given

    def text(self, name: str) -> str:
        """The last text of a field, without spaces around it; empty where there is none."""
        return (self._given.get(name) or [""])[-1].strip()

    def texts(self, name: str) -> list[str]:
        """All texts of a field: ticks, or a field that is repeated."""
        return [one.strip() for one in self._given.get(name, [])]

    def names(self) -> list[str]:
        """The names of all fields."""
        return list(self._given)

    def typed(self) -> list[str]:
        """What a person recognises of it: the texts, without ids, marks and numbers of versions."""
        return [text for name in self.names() for text in self.texts(name) if text and not NOT_TYPED.fullmatch(text)]

    def with_faults(
        self,
        found: AnyFault | ValidationError,
        fields: Mapping[str, str] | None = None,
        name_taken: FieldFault | None = None,
    ) -> "Form":
        """The same form with what is wrong.

        ``fields``: a place in the record ("/avoids") to the field that it is typed in. ``name_taken``: what is said where
        there is one of that name already.
        """
        known = fields or {}
        for one in faults_of(found):
            if one.slug == "already-there" and name_taken is not None:
                self.faults.append(name_taken)
                continue
            longest = max(
                (place for place in known if one.place == place or one.place.startswith(f"{place}/")),
                key=len,
                default=None,
            )
            of_field = known[longest] if longest is not None else one.place.strip("/").replace("/", "-")
            sentence = one.sentence(self._typed_in(of_field))
            self.faults.append(
                FieldFault(of_field if of_field in self._given or of_field in known.values() else "", sentence)
            )
        return self

    def _typed_in(self, field: str) -> str:
        """What was typed in a field of one line; empty where there is none, or more than one of the name."""
        texts = [one for one in self.texts(field) if "\n" not in one]
        return texts[0] if len(texts) == len(self.texts(field)) == 1 else ""

    def wrong(self, field: str, sentence: str) -> "Form":
        """The same form with one more fault."""
        self.faults.append(FieldFault(field, sentence))
        return self

    def fault_of(self, name: str) -> str:
        """What is wrong with a field; empty where nothing is."""
        return " ".join(one.sentence for one in self.faults if one.field == name)


class FoundFault(NamedTuple):
    """A fault that a job or a model found: its kind, its place in the record, the value there, what is wrong, what to do."""

    slug: str
    place: str
    value: str
    problem: str
    remedy: str

    def sentence(self, typed: str = "") -> str:
        """It as a page says it, with what was typed rather than what was made of it; an empty field only hears what to do."""
        value = shown(typed or self.value)
        if value in ("", NOTHING):
            return self.remedy
        return spoken_text("form.fault", value=value, problem=self.problem, remedy=self.remedy)


def _value(fault: AnyFault) -> str:
    """The value that is at fault; an age in months says nothing to a person beside the rules that do not have it."""
    of_age = isinstance(fault, OutsideAgeGroups) and fault.problem.code == "fault.outside-age-groups"
    return "" if of_age else str(fault.value)


def faults_of(found: AnyFault | ValidationError) -> list[FoundFault]:
    """Each of the faults, in the words of the pages."""
    if isinstance(found, AnyFault):
        words = [(one, fault_words(one)) for one in found.faults()]
        return [FoundFault(one.slug, one.pointer, _value(one), said.problem, said.remedy) for one, said in words]
    rows = [request_fault(error, 0) for error in found.errors(include_url=False)]
    return [FoundFault("", row["pointer"], row["value"], row["problem"], row["remedy"]) for row in rows]


def sentences_of(found: AnyFault) -> list[str]:
    """Each of the faults as a page says it, without its place: for a child or thing that is named beside them."""
    return list(dict.fromkeys(one.sentence() for one in faults_of(found)))


async def sent_form(request: Request, viewer: Annotated[Viewer, Depends(signed_in)]) -> AsyncIterator[Form]:
    """The form that a signed-in device sent, its files open until it is answered; ``FormNotOurs`` without its token."""
    async with _read_form(request, viewer, LARGEST_WITH_FILE) as form:
        yield form


async def sent_large_form(request: Request, viewer: Annotated[Viewer, Depends(signed_in)]) -> AsyncIterator[Form]:
    """The same for a form whose file may be a whole export."""
    async with _read_form(request, viewer, LARGEST_EXPORT) as form:
        yield form


@asynccontextmanager
async def _read_form(request: Request, viewer: Viewer, largest_with_file: int) -> AsyncIterator[Form]:
    with_file = request.headers.get("content-type", "").startswith("multipart/form-data")
    size = announced_bytes(request)
    if size is None or size > (largest_with_file if with_file else LARGEST_FORM):
        if size is not None and size <= LARGEST_READ_AWAY:
            async for _part in request.stream():  # a browser shows the answer only once it has sent everything
                pass
        raise FormTooLarge
    read = await request.form(max_fields=MOST_FIELDS, max_files=MOST_FILES, max_part_size=LARGEST_FORM)
    try:
        form = request.state.sent_form = _form_of(read)
        token = read.get(TOKEN_FIELD)
        given = token.encode() if isinstance(token, str) else b""
        if not viewer.token or not hmac.compare_digest(given, viewer.token.encode()):
            raise FormNotOurs
        yield form
    finally:
        await read.close()


def _form_of(read: FormData) -> Form:
    texts: dict[str, list[str]] = {}
    files: dict[str, Any] = {}
    for name, value in read.multi_items():
        if name == TOKEN_FIELD:
            continue
        if isinstance(value, str):
            texts.setdefault(name, []).append(value)
        else:
            files[name] = value
    return Form(texts, files)


def form_sent_with(request: Request) -> Form | None:
    """The form that a request brought, as far as it was read; None if it brought none."""
    return getattr(request.state, "sent_form", None)


SentForm = Annotated[Form, Depends(sent_form)]
SentLargeForm = Annotated[Form, Depends(sent_large_form)]
