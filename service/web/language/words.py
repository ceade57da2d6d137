"""Days, amounts and money as a person says them, in the language of the page.

``babel.dates`` reads the clock's zone when it is loaded: with the first day on a page, to keep starting fast.
"""

from datetime import date, datetime
from functools import lru_cache

from babel.numbers import format_currency, format_decimal

from service.domain.messages import Message
from service.reference.messages import page_catalogue

MEASURED = frozenset(
    {"g", "ml", "cup", "half cup", "quarter cup", "fl oz", "oz", "tbsp", "tsp", "tablespoon", "teaspoon"}
)
"""Units that say how much even of one."""
A_KILO = 1000


def said(words: Message, language: str) -> str:
    """A message of the pages as a sentence."""
    return page_catalogue(language).say(words)


@lru_cache(maxsize=256)
def short_day(day: str | date, language: str) -> str:
    """A day as it is said in a list.

    >>> short_day("2026-12-01", "en")
    'Tue 1 Dec'
    """
    from babel.dates import format_date

    on = date.fromisoformat(day) if isinstance(day, str) else day
    return format_date(on, "EEE d MMM", locale=language)


def clock(when: datetime, language: str) -> str:
    """A time of the kitchen's own clock."""
    from babel.dates import format_time

    return format_time(when.astimezone(), "short", locale=language, tzinfo=when.astimezone().tzinfo)


def moment(when: datetime | str, language: str) -> str:
    """A day and a time of the kitchen's own clock; given as a moment, or as the API says one (ISO 8601)."""
    at = datetime.fromisoformat(when) if isinstance(when, str) else when
    return f"{short_day(at.astimezone().date(), language)}, {clock(at, language)}"


def moment_with_year(when: str, language: str) -> str:
    """The same of a moment that may be far away, with the year in the place of the day of the week."""
    from babel.dates import format_date

    at = datetime.fromisoformat(when)
    return f"{format_date(at.astimezone().date(), 'medium', locale=language)}, {clock(at, language)}"


def weekday(day: str | date, language: str) -> str:
    """A day within a week that is known.

    >>> weekday("2026-12-01", "en")
    'Tuesday'
    """
    from babel.dates import format_date

    on = date.fromisoformat(day) if isinstance(day, str) else day
    return format_date(on, "EEEE", locale=language)


def money(minor: int, currency: str, digits: int, language: str) -> str:
    """An amount in the smallest unit of a currency, as it is written.

    >>> money(310, "USD", 2, "en")
    '$3.10'
    """
    return format_currency(minor / 10**digits, currency, locale=language)


@lru_cache(maxsize=4096)
def amount(quantity: float, unit: str, language: str) -> str:
    """How much of a food, as a person says it; empty for one of what its name says.

    >>> amount(0.5, "cup", "en"), amount(2, "slice", "en"), amount(95, "g", "en"), amount(1.5, "sandwich", "en")
    ('half a cup', '2 slices', '95 g', '1\u00bd sandwiches')
    >>> amount(1, "sandwich", "en")
    ''
    """
    if quantity == 1 and unit not in MEASURED:
        return ""
    return page_catalogue(language).measured(quantity, unit)


def told_amount(quantity: float, unit: str, language: str) -> str:
    """How much of a food, also where its name says it already.

    >>> told_amount(1, "sandwich", "en"), told_amount(2, "slice", "en")
    ('1 sandwich', '2 slices')
    """
    return amount(quantity, unit, language) or f"1 {measure(unit, language)}"


@lru_cache(maxsize=4096)
def measure(unit: str, language: str, quantity: float = 1) -> str:
    """The word of a household measure; one that has none in the language stays as the food table names it.

    >>> measure("cup sliced", "en", 2), measure("cup sliced", "es")
    ('cups sliced', 'taza en rebanadas')
    """
    return page_catalogue(language).measure(quantity, unit)


def weight(grams: float, language: str, places: int = 2) -> str:
    """An amount in grams, or kilograms from a kilogram on. ``places``: of kilograms; 3 for one as it was typed.

    >>> weight(320.4, "en"), weight(2270, "en"), weight(3785, "en", 3)
    ('320 g', '2.27 kg', '3.785 kg')
    """
    if grams < A_KILO:
        return f"{format_decimal(round(grams), locale=language)} g"
    kilograms = round(grams / A_KILO, places)
    return f"{format_decimal(kilograms, locale=language, decimal_quantization=False)} kg"
