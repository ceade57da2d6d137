"""Numbers as people type them: with a comma or a point, as their language writes it or the other way round."""

import re
from decimal import Decimal

from babel.numbers import get_group_symbol

from service.web.forms.form import Form
from service.web.language.chosen import text as said

SIGNS = re.compile(r"[.,]")
SPACES = re.compile(r"[\s'\u2019]")
LIMIT = re.compile(r"[<\u2264]|\b(?:traces?|tr|trazas?|less than|under|menos de|inferior a)\b", re.IGNORECASE)
"""What labels print for a figure that is only known to be small."""
PLAIN = re.compile(r"[0-9]{1,12}(\.[0-9]{1,9})?")


def number_of(text: str, language: str) -> Decimal | None:
    """The number that was typed, or None for a text that is not one.

    The last of two different signs ends the whole part. A single sign before exactly three digits is taken as the
    language writes it: "1,360" is 1360 in English; anywhere else it ends the whole part.

    >>> [str(number_of(typed, "en")) for typed in ("3.10", "3,10", "1,360", "1.250,50", "0,125", "three")]
    ['3.10', '3.10', '1360', '1250.50', '0.125', 'None']
    """
    plain = SPACES.sub("", text)
    signs = SIGNS.findall(plain)
    if len(set(signs)) > 1:
        if plain.count(signs[-1]) > 1:
            return None
        plain = plain.replace(signs[0], "").replace(signs[-1], ".")
    elif len(signs) > 1 or (signs and _groups(plain, signs[0], language)):
        plain = plain.replace(signs[0], "")
    else:
        plain = plain.replace(",", ".")
    return Decimal(plain) if PLAIN.fullmatch(plain) else None


def number_in(form: Form, field: str, language: str) -> float | None:
    """The number typed into a field, None where there is none; a text that is no number is noted as a fault."""
    typed = form.text(field)
    if not typed:
        return None
    read = number_of(typed, language)
    if read is None:
        code = "form.only-a-limit" if LIMIT.search(typed) else "form.no-number"
        form.wrong(field, said(code, language, typed=typed))
        return None
    return float(read)


def figure(value: float | None) -> str:
    """A number as it stands in a field, read back as the same in every language; empty for none.

    Three decimals get a nought more, since some languages write thousands with a point.

    >>> figure(1.0), figure(0.75), figure(12.625), figure(None)
    ('1', '0.75', '12.6250', '')
    """
    if value is None:
        return ""
    plain = f"{value:.10g}"
    return f"{plain}0" if _like_thousands(plain, ".") else plain


def _groups(text: str, sign: str, language: str) -> bool:
    """Whether a sign separates thousands."""
    return sign == get_group_symbol(language) and _like_thousands(text, sign)


def _like_thousands(text: str, sign: str) -> bool:
    """Whether exactly three digits follow, as they do after a thousand."""
    whole, _sign, rest = text.partition(sign)
    return len(rest) == 3 and whole.strip("0") == whole != ""
