"""The lines of the log: one form for all that this process writes, as text or as JSON.

A line has the time, how grave it is, the request, and what happened. Of a fault it has the kind and the lines of code, never its
own words: those of a database have what was stored. What could end a line or act on a terminal is written as its number.
"""

import codecs
import logging
import logging.config
import sys
import traceback
from datetime import UTC, datetime
from types import TracebackType
from typing import Any

from service.api.logs.exchanges import request_id

Raised = tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]
OF_EVERY_RECORD = frozenset(vars(logging.makeLogRecord({}))) | {"message", "asctime", "color_message", "taskName"}
INNERMOST = 12
"""Lines of code that are shown of a fault."""
AS_NUMBER = codecs.getencoder("unicode_escape")
"""Looked for here: Python reads it from a file, and a line may have to say that no more files can be opened."""


class AtHand(logging.Filter):
    """Notes in each line which request is at hand."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Let every line through, with the id of its request."""
        at_hand = request_id()
        if at_hand:
            record.request_id = at_hand
        return True


class PlainLines(logging.Formatter):
    """``2026-12-01T07:30:00.123Z INFO packed_lunch.requests request method=GET route=/v1/foods ...``"""

    def __init__(self, *, tracebacks: bool = False) -> None:
        super().__init__()
        self.tracebacks = tracebacks

    def format(self, record: logging.LogRecord) -> str:
        """One line; the whole traceback below it only where tracebacks were asked for."""
        fields = [f"{name}={value}" for name, value in vars(record).items() if name not in OF_EVERY_RECORD]
        if record.exc_info and not self.tracebacks:
            fields.append(f"raised={raised(record.exc_info)}")
        line = one_line(
            " ".join([moment_of(record), record.levelname, record.name, record.getMessage().strip(), *fields])
        )
        if record.exc_info and self.tracebacks:
            line += "\n" + self.formatException(record.exc_info)
        return line


def moment_of(record: logging.LogRecord) -> str:
    """When it happened, in UTC (RFC 3339)."""
    moment = datetime.fromtimestamp(record.created, UTC)
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def one_line(text: str) -> str:
    """A text in which nothing ends the line or acts on a terminal; such characters are written as their numbers.

    >>> print(one_line("apple\\n2026 all is well \\u202e"))
    apple\\n2026 all is well \\u202e
    """
    if text.isprintable():
        return text
    return "".join(char if char.isprintable() else AS_NUMBER(char)[0].decode() for char in text)


def raised(fault: Raised) -> str:
    """The kind of a fault and the lines of code it went through, innermost first; no values."""
    kind, _fault, trace = fault
    return f"{kind.__name__ if kind else 'nothing'} at {places(trace)}"


def places(trace: TracebackType | None) -> str:
    """The lines of code of a traceback, innermost first, in one line."""
    frames = reversed(traceback.extract_tb(trace)[-INNERMOST:])
    return " < ".join(f"{one.filename}:{one.lineno} in {one.name}" for one in frames) or "-"


def configure_logging(level: str, form: str = "text", *, tracebacks: bool = False) -> None:
    """Send everything that this process logs to standard error in one form. ``level``: from which on, of our own lines and
    the server's; of other libraries warnings and worse. ``form``: ``text`` or ``json``.
    """
    lines: dict[str, Any] = {"()": PlainLines, "tracebacks": tracebacks}
    if form == "json":
        lines["()"] = "service.api.logs.json_lines.JsonLines"
    ours = {"level": level.upper()}
    logging.config.dictConfig(
        {
            "version": 1,
            "disable_existing_loggers": False,
            "formatters": {"lines": lines},
            "filters": {"at_hand": {"()": AtHand}},
            "handlers": {
                "lines": {
                    "class": "logging.StreamHandler",
                    "stream": sys.stderr,
                    "formatter": "lines",
                    "filters": ["at_hand"],
                }
            },
            "root": {"handlers": ["lines"], "level": "WARNING"},
            "loggers": {"packed_lunch": ours, "uvicorn": ours},
        }
    )
