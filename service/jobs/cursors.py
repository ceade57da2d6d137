"""Cursors of lists: text of ours in base64url (RFC 4648 section 5), so that nobody reads a meaning into it."""

import base64

from service.domain.errors import BadInput


def cursor_of(place: str) -> str:
    """The cursor for a place in a list.

    >>> place_of(cursor_of("50:apple"), "list", "")
    '50:apple'
    """
    return base64.urlsafe_b64encode(place.encode()).decode().rstrip("=")


def place_of(cursor: str, of_what: str, also: str) -> str:
    """The place that a cursor stands for; ``bad_cursor`` where it is none."""
    try:
        return base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)).decode("ascii")
    except ValueError as fault:
        raise bad_cursor(cursor, of_what, also) from fault


def bad_cursor(cursor: str, of_what: str, also: str) -> BadInput:
    """The fault for a cursor of another list. ``also``: what has to be the same besides, e.g. ``, with the same q;``."""
    return BadInput(
        pointer="/cursor",
        value=cursor,
        problem=f"is not a cursor of this {of_what}",
        remedy=f"Give the 'next' of the page before{also} or leave it out to start again.",
    )
