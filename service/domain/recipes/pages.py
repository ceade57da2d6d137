"""A page that somebody saved: the JSON-LD blocks in its HTML. A broken block does not lose the others."""

import json
from html.parser import HTMLParser

JSON_LD = "application/ld+json"
MOST_BLOCKS = 100


class _Blocks(HTMLParser):
    """Collects the text of each ``<script type="application/ld+json">``."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.blocks: list[str] = []
        self._inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Begin a block."""
        kinds = [(value or "").split(";")[0].strip().lower() for name, value in attrs if name == "type"]
        self._inside = tag == "script" and JSON_LD in kinds and len(self.blocks) < MOST_BLOCKS
        if self._inside:
            self.blocks.append("")

    def handle_endtag(self, tag: str) -> None:
        """End a block."""
        self._inside = False

    def handle_data(self, data: str) -> None:
        """Add to the block."""
        if self._inside:
            self.blocks[-1] += data


def documents_in_page(page: str) -> tuple[list[object], int]:
    """The documents in the JSON-LD blocks of an HTML page, and how many blocks are broken.

    >>> documents_in_page('<script type="application/ld+json">{"a": 1}</script><script type="application/ld+json">{</script>')
    ([{'a': 1}], 1)
    """
    reader = _Blocks()
    reader.feed(page)
    reader.close()
    found: list[object] = []
    broken = 0
    for block in reader.blocks:
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
