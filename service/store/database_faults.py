"""What a database says of its faults -> what is wrong, in our words. Nothing of what was written is in them."""

from service.domain.errors import StoreFault
from service.domain.messages import message

_LOCKED, _FULL = message("fault.store-locked"), message("fault.disk-full")
_READ_ONLY, _DAMAGED = message("fault.store-read-only"), message("fault.store-damaged")
_BY_CODE = {
    "25006": _READ_ONLY,
    "40001": _LOCKED,
    "40P01": _LOCKED,
    "53100": _FULL,
    "53300": message("fault.store-full-house"),
    "55P03": _LOCKED,
    "57014": _LOCKED,
}
"""Codes of PostgreSQL, whose words are in the language of its server (SQLSTATE; its manual, appendix A; status: memory)."""
_BY_WORDS = (
    ("disk is full", _FULL),
    ("No space left", _FULL),
    ("disk I/O error", message("fault.store-disk-error")),
    ("readonly", _READ_ONLY),
    ("read-only", _READ_ONLY),
    ("unable to open", message("fault.store-no-folder")),
    ("is locked", _LOCKED),
    ("not a database", message("fault.no-store")),
    ("malformed", _DAMAGED),
    ("Could not decode", _DAMAGED),
    ("no such", _DAMAGED),
)
"""Words of SQLite, which has one language; on a full disk it speaks of an I/O error where it cannot make its index to read."""


def store_fault(fault: BaseException | None) -> StoreFault:
    """A fault that the driver of the database raised as one of ours; nothing of the statement or its values is shown."""
    words = str(fault)
    by_words = (problem for sign, problem in _BY_WORDS if sign in words)
    code = getattr(fault, "sqlstate", None) or ""
    problem = _BY_CODE.get(code) or next(by_words, message("fault.store-no-answer"))
    return StoreFault(pointer="", value="the store", problem=problem)
