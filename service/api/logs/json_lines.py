"""The lines of the log as JSON, one object a line; loaded only where it is asked for."""

import logging
from typing import Any

from pythonjsonlogger.json import JsonFormatter

from service.api.logs.lines import Raised, moment_of, raised


class JsonLines(JsonFormatter):
    """``time``, ``level``, ``logger``, ``message``, ``request_id`` and what else a line has; all but ASCII is escaped."""

    def __init__(self, *, tracebacks: bool = False) -> None:
        super().__init__("%(message)s", reserved_attrs=[*vars(logging.makeLogRecord({})), "color_message", "taskName"])
        self.tracebacks = tracebacks

    def add_fields(self, log_data: dict[str, Any], record: logging.LogRecord, message_dict: dict[str, Any]) -> None:
        """Put time, level and logger in front."""
        log_data.update({"time": moment_of(record), "level": record.levelname.lower(), "logger": record.name})
        super().add_fields(log_data, record, message_dict)

    def formatException(self, ei: Raised) -> str:  # noqa: N802 - the name is the library's
        """Kind and lines of code, or the whole traceback where tracebacks were asked for."""
        return logging.Formatter.formatException(self, ei) if self.tracebacks else raised(ei)
