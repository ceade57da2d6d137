"""Reports faults of the input on standard error, one line a fault, and ends with exit code 2."""

import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import typer

from service.domain.errors import AnyFault

BAD_INPUT = 2


@contextmanager
def report_faults(as_json: bool) -> Iterator[None]:
    """Turn faults into plain lines (or one JSON object) and exit code 2."""
    try:
        yield
    except AnyFault as fault:
        from service.reference.fault_words import fault_words
        from service.reference.messages import json_of

        _report(
            [
                {
                    "pointer": one.pointer,
                    "value": str(one.value),
                    "code": one.code,
                    "params": json_of(one.params),
                    **fault_words(one)._asdict(),
                }
                for one in fault.faults()
            ],
            as_json,
        )
        raise typer.Exit(BAD_INPUT) from fault
    except ValueError as fault:  # a request model's ValidationError is one; the models are not imported for a look-up
        from pydantic import ValidationError

        if not isinstance(fault, ValidationError):
            raise
        from service.jobs.request_faults import request_fault

        _report([request_fault(error) for error in fault.errors(include_url=False)], as_json)
        raise typer.Exit(BAD_INPUT) from fault


def report_unexpected(fault: Exception) -> None:
    """One sentence for a fault of ours, then its kind and the lines of code, innermost last; nothing of any value."""
    from service.domain.messages import message
    from service.reference.fault_words import problem_words

    try:
        said = problem_words(message("fault.command-failed"))
        sys.stderr.write(f"{said.problem}. {said.remedy}\n")
    except Exception:  # the catalogue itself may be at fault
        sys.stderr.write("The command failed through a fault in this program.\n")
    sys.stderr.write(f"{type(fault).__name__}\n")
    for one in traceback.extract_tb(fault.__traceback__):
        sys.stderr.write(f"  {one.filename}:{one.lineno} in {one.name}\n")


def _report(faults: list[dict[str, Any]], as_json: bool) -> None:
    if as_json:
        import orjson

        sys.stderr.write(orjson.dumps({"faults": faults}, option=orjson.OPT_INDENT_2).decode() + "\n")
        return
    from service.jobs.request_faults import NOTHING

    for fault in faults:
        value = "" if fault["value"] in ("", NOTHING) else f" {fault['value']!r}"
        place = (
            f"{fault['pointer'] or '/'}:" if fault["pointer"] or not value else ""
        )  # a file that is named needs no place
        sys.stderr.write(f"{place}{value} {fault['problem']}. {fault['remedy']}\n".lstrip())
