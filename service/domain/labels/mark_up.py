"""Marks of a text format in a label's text: HTML tags, character references, emphasis and footnote marks.

They are blanked out letter for letter, so that every place in the text stays where it was: a tag inside a
line leaves nothing, one that starts a line or an item leaves a line break or a separator.
"""

import re
from typing import Final

NOTHING: Final = "\u200b"
"""A letter without width: folding drops it, and what stands next to it is one word."""

_TAG: Final = re.compile(
    r"</?(?P<name>strong|b|em|i|u|s|span|mark|font|small|big|sup|sub|a|allergen|br|p|div|li|ul|ol|tr|td|th|table|h[1-6])"
    r"(?:\s[^<>]{0,200})?/?>",
    re.IGNORECASE,
)
_REFERENCE: Final = re.compile(r"&(?:#[0-9]{1,6}|#x[0-9a-f]{1,5}|[a-z]{2,8}[0-9]{0,2});", re.IGNORECASE)
_EMPHASIS: Final = re.compile(r"(?<![\w*])(?P<mark>\*\*|_)(?=[^\s*_])(?P<words>[^*_\n]{1,200})(?P=mark)(?![\w*])")
_FOOTNOTE: Final = re.compile(r"(?<=[^\W_])\*(?![\w*])")
"""A star that closes a word. One that opens a word may begin a sentence of its own, and stays a break."""
_LEAVES: Final = {
    **dict.fromkeys(("br",), "\n"),
    **dict.fromkeys(("li", "td", "th"), ";"),
    **dict.fromkeys(("p", "div", "ul", "ol", "tr", "table", "h1", "h2", "h3", "h4", "h5", "h6"), "\n\n"),
}


def without_mark_up(text: str) -> str:
    """The text, of the same length, with tags blanked and references like ``&amp;`` put as the letter meant.

    >>> without_mark_up("<b>Milk</b> &amp; wheat").replace(NOTHING, "")
    'Milk & wheat'
    """
    if "&" in text and ";" in text:
        text = _REFERENCE.sub(_letter_meant, text)
    if "<" in text and ">" in text:
        text = _TAG.sub(_left_of_tag, text)
    if "_" in text or "*" in text:
        text = _FOOTNOTE.sub(NOTHING, _EMPHASIS.sub(_words_alone, text))
    return text


def _left_of_tag(found: re.Match[str]) -> str:
    return _LEAVES.get(found["name"].lower(), "").ljust(len(found[0]), NOTHING)


def _words_alone(found: re.Match[str]) -> str:
    around = NOTHING * len(found["mark"])
    return f"{around}{found['words']}{around}"


def _letter_meant(found: re.Match[str]) -> str:
    import html

    return html.unescape(found[0]).ljust(len(found[0]), NOTHING)
