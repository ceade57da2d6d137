"""A page that somebody saved: the JSON-LD blocks in its HTML. A broken block does not lose the others."""

import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser

JSON_LD = "application/ld+json"
MOST_BLOCKS = 100
LONGEST_TAG = 1000
SCRIPT = re.compile(rf"<script\b[^>]{{0,{LONGEST_TAG}}}>", re.IGNORECASE)
SCRIPT_END = re.compile("</script", re.IGNORECASE)


class _Kind(HTMLParser):
    """The ``type`` of a tag, in lower case and without what follows a semicolon."""

    def __init__(self, tag: str) -> None:
        super().__init__(convert_charrefs=True)
        self.kind = ""
        self.feed(tag)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note it."""
        self.kind = (dict(attrs).get("type") or "").split(";")[0].strip().lower()


def _blocks(page: str) -> Iterator[str]:
    """The texts of the JSON-LD blocks.

    Only the tags of scripts are given to the parser: on a whole page of tags that do not end it takes time by the square of its length.
    """
    place, count = 0, 0
    while count < MOST_BLOCKS and (tag := SCRIPT.search(page, place)) is not None:
        end = SCRIPT_END.search(page, tag.end())
        place = len(page) if end is None else end.end()
        if _Kind(tag[0]).kind == JSON_LD:
            count += 1
            yield page[tag.end() : len(page) if end is None else end.start()]


def documents_in_page(page: str) -> tuple[list[object], int]:
    """The documents in the JSON-LD blocks of an HTML page, and how many blocks are broken.

    >>> documents_in_page('<script type="application/ld+json">{"a": 1}</script><script type="application/ld+json">{</script>')
    ([{'a': 1}], 1)
    """
    found: list[object] = []
    broken = 0
    for block in _blocks(page):
        try:
            found.append(json_of_block(block))
        except ValueError:
            broken += 1
    return found, broken


def json_of_block(block: str) -> object:
    """The JSON in a text; ``ValueError`` for anything else, and for JSON that is nested too deep.

    Line breaks within texts are let pass, as saved pages have them.
    """
    text = block.strip().removeprefix("<!--").removesuffix("-->").strip()
    try:
        found: object = json.loads(text, strict=False)
    except RecursionError as fault:
        raise ValueError("nested too deep") from fault
    return found
