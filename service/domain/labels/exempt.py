"""Ingredients made from cereals that do not count as gluten: glucose syrup from wheat, gluten-free wheat starch.

They are taken out of a statement to see whether the rest of it names gluten. Nothing is decided here for an allergy to the
cereal itself: that reads the whole statement. Source: see ``reference_data/allergens/exempt.toml``.
"""

import re
from collections.abc import Sequence
from typing import NamedTuple

READ_INSTEAD = "glucose syrup"
"""Takes the place of what is taken out, so that the statement stays a list."""


class Exempt(NamedTuple):
    """Products of some cereals. ``before``: words of which one must come first; none: the cereal alone is enough."""

    cereals: tuple[str, ...]
    products: tuple[str, ...]
    before: tuple[str, ...] = ()


def exempt_pattern(rows: Sequence[Exempt]) -> re.Pattern[str]:
    """One pattern for all rows, to be used with ``without_exempt``."""
    return re.compile("|".join(f"(?:{_phrases(row)})" for row in rows), re.IGNORECASE)


def without_exempt(text: str, pattern: re.Pattern[str]) -> tuple[str, tuple[str, ...]]:
    """A statement without what does not count, and the words taken out.

    >>> pattern = exempt_pattern([Exempt(("wheat",), ("dextrose",))])
    >>> without_exempt("Rice, dextrose (from wheat), wheat flour", pattern)
    ('Rice, glucose syrup, wheat flour', ('dextrose (from wheat)',))
    """
    words = tuple(dict.fromkeys(found.group() for found in pattern.finditer(text)))
    return pattern.sub(READ_INSTEAD, text), words


def _phrases(row: Exempt) -> str:
    cereal, product = _one_of(row.cereals), _one_of(row.products)
    if row.before:
        return rf"\b{_one_of(row.before)}\s+{cereal}\s+{product}\b"
    after = rf"[(\[]\s*(?:from\s+|contains\s+)?{cereal}\s*[)\]]|from\s+{cereal}\b(?!\s+\w)"
    return rf"\b{cereal}\s+{product}\b|\b{product}\s*(?:{after})"


def _one_of(words: Sequence[str]) -> str:
    longest_first = sorted(words, key=len, reverse=True)
    return "(?:" + "|".join(re.escape(one).replace(r"\ ", r"\s+") for one in longest_first) + ")"
