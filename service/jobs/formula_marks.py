"""Marks for text that a spreadsheet would take for a formula; used wherever a CSV is written.

Source: OWASP, CSV Injection: a cell that begins with = + - @, a tab or a line break.
"""

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
QUOTE = "'"


def may_be_formula(text: str) -> bool:
    """Whether a spreadsheet may take a cell's text for a formula."""
    return text.startswith(FORMULA_STARTS)


def marked(text: str) -> str:
    """The text with an apostrophe before it where it may be taken for a formula.

    >>> marked("=1+1"), marked("apple")
    ("'=1+1", 'apple')
    """
    return QUOTE + text if may_be_formula(text) else text
