"""How much a line says: whole numbers, fractions, words and ranges; and measures such as "14 oz"."""

import unicodedata
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from service.domain.recipes.tokens import DASHES, FRACTION_SIGNS, SLASHES, Token, token_at
from service.domain.recipes.vocabulary import Unit, Vocabulary

ARTICLES = frozenset({"a", "an"})
COMMA_FOR_THOUSANDS = frozenset({"US", "GB", "IE", "CA", "AU", "NZ"})
"""Countries in which "1,000" is a thousand (common practice, no source)."""
MOST = 100_000
"""A larger number in a line is no amount (a limit of ours)."""


class Quantity(NamedTuple):
    """An amount; ``high``: the other end of a range, or None. ``end``: the place behind it.

    ``sure``: False where the number can be read in two ways ("1,500").
    """

    low: Fraction
    high: Fraction | None
    end: int
    sure: bool = True


class Measured(NamedTuple):
    """So much of a unit: "14 oz"."""

    amount: Fraction
    unit: Unit


def quantity_at(tokens: Sequence[Token], place: int, words: Vocabulary, country: str | None = None) -> Quantity | None:
    """The amount that begins at a place; None where none does.

    >>> from service.reference.recipes.words import vocabulary
    >>> from service.domain.recipes.tokens import tokens_of
    >>> for text in ("1 1/2 cups", "half a dozen", "2-3", "1⅓", "between 4 and 6"):
    ...     found = quantity_at(tokens_of(text), 0, vocabulary())
    ...     print(found.low, found.high)
    3/2 None
    6 None
    2 3
    4/3 None
    4 6
    """
    between = token_at(tokens, place).low == "between"
    first = _one(tokens, place + between, words, country)
    if first is None:
        return None
    sign = token_at(tokens, first.end)
    joins = sign.text in DASHES or sign.low in ("to", "or") or (between and sign.low == "and")
    if not joins or token_at(tokens, first.end + 1).low in ARTICLES:
        return first
    second = _one(tokens, first.end + 1, words, country)
    if second is None:
        return first
    return Quantity(first.low, second.low, second.end, first.sure and second.sure and first.low < second.low)


def unit_at(tokens: Sequence[Token], place: int, words: Vocabulary) -> tuple[Unit, int] | None:
    """The unit whose word stands at a place, and the place behind it and its full stop; None for any other word."""
    first = token_at(tokens, place)
    if not first.is_word and first.text != "#":
        return None
    behind = past_stop(tokens, place + 1)
    second = token_at(tokens, behind)
    if f"{first.low} {second.low}" in words.compounds:
        return None
    two = words.units.get(f"{first.low} {second.low}")
    if two is not None:
        return two, past_stop(tokens, behind + 1)
    one = words.exact.get(first.text) or words.units.get(first.low)
    return None if one is None else (one, behind)


def measured_at(
    tokens: Sequence[Token], place: int, words: Vocabulary, country: str | None = None
) -> tuple[Measured, int] | None:
    """The measure that begins at a place, such as "14 oz" or "8-ounce", and the place behind it; None where none does."""
    while token_at(tokens, place).low in words.about:
        place = past_stop(tokens, place + 1)
    amount = _one(tokens, place, words, country)
    if amount is None or not amount.sure or not (token_at(tokens, place).is_number or _is_sign(tokens, place)):
        return None
    behind = amount.end + (token_at(tokens, amount.end).text in DASHES)
    unit = unit_at(tokens, behind, words)
    if unit is None:
        return None
    measured, end = Measured(amount.low, unit[0]), unit[1]
    more = measured_at(tokens, end, words, country) if unit[0].id == "lb" else None
    if more is not None and more[0].unit.id == "oz":
        pound, ounce = unit[0].size(None), more[0].unit.size(None)
        if pound is not None and ounce is not None:
            return Measured(measured.amount + more[0].amount * ounce / pound, unit[0]), more[1]
    return measured, end


def _one(tokens: Sequence[Token], place: int, words: Vocabulary, country: str | None) -> Quantity | None:
    """A single amount: digits with a fraction, or words."""
    first = token_at(tokens, place)
    found = _digits(tokens, place, country)
    if found is None:
        found = _in_words(tokens, place, words)
    if found is None or token_at(tokens, found.end).text == "%" or found.low > MOST:
        return None
    if token_at(tokens, found.end).low == "dozen":
        found = found._replace(low=found.low * 12, end=found.end + 1)
    joined = token_at(tokens, found.end).low in ("and", "&")
    if joined and found.low.denominator == 1:
        more = _fraction(tokens, found.end + 1, words)
        if more is not None:
            found = found._replace(low=found.low + more.low, end=more.end)
    if found.low.denominator > 1 or first.low == "couple" or first.low in ARTICLES:
        found = found._replace(end=_past_article(tokens, found.end))
    return found


def _digits(tokens: Sequence[Token], place: int, country: str | None) -> Quantity | None:
    first = token_at(tokens, place)
    if first.text in FRACTION_SIGNS:
        return Quantity(Fraction(unicodedata.numeric(first.text)).limit_denominator(10), None, place + 1)
    if not first.is_number:
        return None
    plain = _plain_fraction(tokens, place)
    if plain is not None:
        return plain
    value, sure = _value(first.text, country)
    found = Quantity(value, None, place + 1, sure)
    if value.denominator > 1:
        return found
    following = token_at(tokens, place + 1)
    # "1-1/2" is one and a half where nothing stands between: a range would not go down.
    dash = following.text in DASHES and following.start == first.end
    part = place + 1 + (dash and token_at(tokens, place + 2).start == following.end)
    more = _plain_fraction(tokens, part)
    if more is None and token_at(tokens, part).text in FRACTION_SIGNS:
        more = _digits(tokens, part, country)
    if more is not None and more.low < 1 and value >= 1:
        return Quantity(value + more.low, None, more.end, sure)
    return found


def _plain_fraction(tokens: Sequence[Token], place: int) -> Quantity | None:
    """A fraction in digits, "3/4"; None for a division by nothing."""
    top, sign, bottom = (token_at(tokens, place + step) for step in range(3))
    if not (top.text.isdecimal() and sign.text in SLASHES and bottom.text.isdecimal()):
        return None
    if not 0 < int(bottom.text[:6]) <= 100:
        return None
    return Quantity(Fraction(int(top.text[:6]), int(bottom.text)), None, place + 3)


def _value(text: str, country: str | None) -> tuple[Fraction, bool]:
    """A number in digits, and whether it can be read in one way only.

    >>> _value("0,5", None), _value("1.000", None)[1], _value("1,000", "US")
    ((Fraction(1, 2), True), False, (Fraction(1000, 1), True))
    """
    marks = [one for one in text if one in ".,"]
    if not marks:
        return Fraction(text[:9]), True
    whole, _mark, part = text.partition(marks[0])
    whole = whole or "0"
    if len(marks) == 1 and (len(part) != 3 or int(whole) == 0):
        return Fraction(f"{whole[:9]}.{part[:9]}"), True
    if len(marks) == 1 and marks[0] == "," and country in COMMA_FOR_THOUSANDS:
        return Fraction((whole + part)[:9]), True
    return Fraction(whole[:9]), False


def _in_words(tokens: Sequence[Token], place: int, words: Vocabulary) -> Quantity | None:
    word, following = token_at(tokens, place), token_at(tokens, place + 1)
    value = words.numbers.get(word.low)
    if value is None:
        return None
    next_value = words.numbers.get(following.low)
    if word.low in ARTICLES and next_value is not None and following.low not in ARTICLES:
        return Quantity(next_value, None, place + 2)  # "a dozen", "a quarter"
    if following.low in ("quarters", "thirds") and next_value is not None:
        return Quantity(value * next_value, None, place + 2)
    if value < 1:
        behind = _past_article(tokens, place + 1)
        if token_at(tokens, behind).low == "dozen":
            return Quantity(value * 12, None, behind + 1)
    return Quantity(value, None, place + 1)


def _is_sign(tokens: Sequence[Token], place: int) -> bool:
    return token_at(tokens, place).text in FRACTION_SIGNS


def _fraction(tokens: Sequence[Token], place: int, words: Vocabulary) -> Quantity | None:
    """What stands behind "one and": "a half", "¼"."""
    found = _plain_fraction(tokens, place) or _in_words(tokens, place, words)
    if found is None and token_at(tokens, place).text in FRACTION_SIGNS:
        found = _digits(tokens, place, None)
    return found if found is not None and found.low < 1 else None


def _past_article(tokens: Sequence[Token], place: int) -> int:
    """Behind "of a", "a" or "of the", where these stand at the place."""
    behind = place + (token_at(tokens, place).low == "of")
    return behind + (token_at(tokens, behind).low in ARTICLES | {"the"})


def past_stop(tokens: Sequence[Token], place: int) -> int:
    """The place behind a full stop, where one stands there: "approx.", "oz."."""
    return place + (token_at(tokens, place).text == ".")
