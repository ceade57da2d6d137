"""Why a page is not shown: raised by the pages, answered in ``problem_pages.py``."""

from typing import Any


class SignInFirst(Exception):
    """Nobody is signed in on this device."""


class NotForThisDevice(Exception):
    """The device is signed in, and may not do this."""


class FormNotOurs(Exception):
    """A form was sent without the token of this device: it was open too long, or another site sent it."""


class FormTooLarge(Exception):
    """More was sent than a form of these pages holds."""


class ChangedMeanwhile(Exception):
    """What a form was made from was changed by another device since.

    ``theirs``: the record as it is now, with its version; empty where there is none.
    """

    def __init__(self, theirs: dict[str, Any]) -> None:
        self.theirs = theirs
        super().__init__("changed meanwhile")
