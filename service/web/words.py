"""Days, amounts and money as a person says them, in the language of the page."""

from datetime import date

from babel.dates import format_date
from babel.numbers import format_currency


def short_day(day: str | date, language: str) -> str:
    """A day as it is said in a list.

    >>> short_day("2026-12-01", "en")
    'Tue 1 Dec'
    """
    on = date.fromisoformat(day) if isinstance(day, str) else day
    return format_date(on, "EEE d MMM", locale=language)


def money(minor: int, currency: str, digits: int, language: str) -> str:
    """An amount in the smallest unit of a currency, as it is written.

    >>> money(310, "USD", 2, "en")
    '$3.10'
    """
    return format_currency(minor / 10**digits, currency, locale=language)
