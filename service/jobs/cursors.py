"""Cursors of lists: text of ours in base64url (RFC 4648 section 5), so that nobody reads a meaning into it."""

import base64

from service.domain.errors import BadInput
from service.domain.messages import Message


def cursor_of(place: str) -> str:
    """The cursor for a place in a list.

    >>> from service.domain.messages import message
    >>> place_of(cursor_of("50:apple"), message("fault.cursor-of-list"))
    '50:apple'
    """
    return base64.urlsafe_b64encode(place.encode()).decode().rstrip("=")


def place_of(cursor: str, no_cursor: Message) -> str:
    """The place that a cursor stands for; ``bad_cursor`` where it is none."""
    try:
        return base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)).decode("ascii")
    except ValueError as fault:
        raise bad_cursor(cursor, no_cursor) from fault


def bad_cursor(cursor: str, no_cursor: Message) -> BadInput:
    """The fault for a cursor of another list. ``no_cursor``: what is wrong then, e.g. ``fault.cursor-of-list``."""
    return BadInput(pointer="/cursor", value=cursor, problem=no_cursor)
