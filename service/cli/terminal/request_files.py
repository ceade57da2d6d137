"""Request files that commands read, as JSON."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from service.domain.errors import BadInput
from service.domain.messages import message

if TYPE_CHECKING:
    from pydantic import BaseModel

Asked = TypeVar("Asked", bound="BaseModel")
MOST_BYTES = 20_000_000
"""Twenty times what the API takes at once, unless it is set otherwise."""
RequestFile = Annotated[str, typer.Argument(metavar="FILE|-", help="A JSON request, or - for standard input.")]


def read_request(file: str, pointer: str = "FILE") -> bytes:
    """The bytes of a request file or of standard input; ``BadInput`` if there is no such file, or it is no plain file or far too large.

    ``pointer``: what names it in a fault.
    """
    from service.jobs.files import read_plain

    if file == "-":
        content = sys.stdin.buffer.read(MOST_BYTES + 1)
        if len(content) > MOST_BYTES:
            problem = message("fault.file-too-large", megabytes=MOST_BYTES // 1_000_000)
            raise BadInput(pointer=pointer, value=file, problem=problem)
        return content
    try:
        return read_plain(Path(file), MOST_BYTES)
    except OSError as fault:
        raise BadInput(
            pointer=pointer,
            value=file,
            problem=message("fault.request-unreadable", reason=fault.strerror),
        ) from fault


def read_asked(file: str, model: type[Asked]) -> Asked:
    """What a request file asks, validated as the API validates a body."""
    from service.jobs.request_faults import refuse_doubled_fields

    body = read_request(file)
    asked = model.model_validate_json(body)
    refuse_doubled_fields(body)
    return asked
