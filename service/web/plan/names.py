"""What a plan is called on pages: its name, or its days in the language of whoever looks."""

from datetime import date

from service.web.language.chosen import text
from service.web.language.words import short_day


def plan_name(name: str | None, first: date | str, last: date | str, language: str) -> str:
    """The name of a plan; without one its first and last school day.

    >>> plan_name(None, "2026-11-30", "2026-12-04", "en"), plan_name("December", "2026-11-30", "2026-12-04", "en")
    ('Mon 30 Nov to Fri 4 Dec', 'December')
    """
    if name is not None:
        return name
    return text("plans.usual-name", language, first=short_day(first, language), last=short_day(last, language))
