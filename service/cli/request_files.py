"""Files that commands read and write: a request as JSON, and a page or table written whole."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from service.domain.errors import BadInput

if TYPE_CHECKING:
    from pydantic import BaseModel

Asked = TypeVar("Asked", bound="BaseModel")
RequestFile = Annotated[str, typer.Argument(metavar="FILE|-", help="A JSON request, or - for standard input.")]


def read_request(file: str) -> bytes:
    """The bytes of a request file or of standard input; ``BadInput`` if there is no such file."""
    if file == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(file).read_bytes()
    except OSError as fault:
        raise BadInput(
            pointer="FILE",
            value=file,
            problem=f"cannot be read ({fault.strerror})",
            remedy="Give the path of a JSON file, or - for standard input.",
        ) from fault


def read_asked(file: str, model: type[Asked]) -> Asked:
    """What a request file asks, validated as the API validates a body."""
    from service.jobs.request_faults import refuse_doubled_fields

    body = read_request(file)
    asked = model.model_validate_json(body)
    refuse_doubled_fields(body)
    return asked


def write_whole(file: str, text: str, option: str) -> None:
    """Write a file whole or not at all; ``BadInput`` where it cannot be written."""
    path = Path(file)
    part_file = path.with_name(path.name + ".part")
    try:
        part_file.write_text(text, encoding="utf-8", newline="")
        part_file.replace(path)
    except OSError as fault:
        raise BadInput(
            pointer=option,
            value=file,
            problem=f"cannot be written ({fault.strerror})",
            remedy="Give a file in a folder that exists and may be written to.",
        ) from fault
