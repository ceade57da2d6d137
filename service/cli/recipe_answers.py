"""The file with answers that ``packed-lunch recipe read`` takes, and the places of faults in it."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import orjson
from pydantic import ValidationError

from service.cli.terminal.request_files import read_request
from service.domain.errors import BadInput, Faults, LunchError
from service.domain.messages import message
from service.jobs.request_faults import fault_of, refuse_doubled_fields, request_fault

OPTION = "--answers"
IN_REQUEST = "/answers"
STANDARD_INPUT = "-"


def answers_in(file: str | None, recipe: str) -> Any:
    """What a file of answers holds, still to be validated with the request; an empty list where none was given.

    ``recipe``: the file of the recipe. Raises ``BadInput`` for a file that cannot be read or is no JSON, for a field that appears twice,
    and where both files are standard input.
    """
    if file is None:
        return []
    if file == recipe == STANDARD_INPUT:
        raise BadInput(pointer=OPTION, value=file, problem=message("fault.standard-input-twice", other="FILE"))
    body = read_request(file, OPTION)
    try:
        found = orjson.loads(body)
    except ValueError as fault:
        raise BadInput(pointer=OPTION, value=file, problem=message("fault.answers-not-json")) from fault
    try:
        refuse_doubled_fields(body)
    except LunchError as fault:
        raise fault.under(OPTION) from fault
    return found


@contextmanager
def pointing_at_answers() -> Iterator[None]:
    """Faults of the answers of a request point into the file instead: ``--answers/0/line``."""
    try:
        yield
    except ValidationError as found:
        faults = Faults()
        for error in found.errors(include_url=False):
            told = request_fault(error)
            with faults.at():
                raise BadInput(
                    pointer=_in_file(told["pointer"]), value=told["value"], problem=fault_of(told)
                ) from found
        faults.raise_all()
    except LunchError as found:
        for one in found.faults():
            one.pointer = _in_file(one.pointer)
        raise


def _in_file(pointer: str) -> str:
    inside = pointer == IN_REQUEST or pointer.startswith(f"{IN_REQUEST}/")
    return OPTION + pointer.removeprefix(IN_REQUEST) if inside else pointer
