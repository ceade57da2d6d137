"""The letters of PDF files: a font that has those of all languages of the European Union, embedded.

Font: Roboto (Apache-2.0), from the package font-roboto.
"""

from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from service.domain.errors import BadInput, Place
from service.domain.messages import message

REGULAR, BOLD = "Roboto", "RobotoBold"
MARKS = dict.fromkeys(map(ord, "\u2066\u2067\u2068\u2069\u200e\u200f\u061c"))
"""Marks for the direction of writing: they have no form of their own."""


class Letters(NamedTuple):
    """The code points that both fonts can draw."""

    known: frozenset[int]


@lru_cache(maxsize=1)
def letters() -> Letters:
    """Registers the fonts with the PDF library, once, and tells what they can draw."""
    from font_roboto import font_files
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    known: set[int] | None = None
    for name in (REGULAR, BOLD):
        font = TTFont(name, font_files[name])
        pdfmetrics.registerFont(font)
        glyphs = set(font.face.charToGlyph)
        known = glyphs if known is None else known & glyphs
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)
    return Letters(frozenset(known or ()))


def plain(text: str) -> str:
    """A text without the marks that only turn the direction of writing."""
    return text.translate(MARKS)


def refuse_unknown_letters(texts: Iterable[str], place: Place) -> None:
    """Raise ``BadInput`` for a text with letters that the font does not have: they would be left out without a word."""
    for text in texts:
        unknown = sorted({one for one in plain(text) if ord(one) not in letters().known and one != "\n"})
        if unknown:
            raise BadInput(field=place, value=text, problem=message("fault.no-letters", letters=unknown[:10]))
