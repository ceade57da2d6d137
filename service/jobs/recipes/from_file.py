"""What a file that somebody saved is asked with: a page, a JSON document, or lines, told apart by how it begins."""

from typing import Any

from service.domain.errors import BadInput
from service.domain.messages import message
from service.domain.recipes.pages import json_of_block
from service.jobs.recipes.requests import RecipeReadingRequest

MOST_BYTES = 20_000_000


def reading_request(file: bytes, **more: Any) -> RecipeReadingRequest:
    """The request of a file's bytes; ``more``: its other fields.

    Raises ``BadInput`` for what is no text in UTF-8 or begins as JSON and is none; ``ValidationError`` for what is too long.

    >>> reading_request(b'{"@type": "Recipe"}').document
    {'@type': 'Recipe'}
    """
    if len(file) > MOST_BYTES:
        raise _unread()
    try:
        text = file.decode("utf-8-sig").replace("\r\n", "\n").strip()
        document = json_of_block(text) if text.startswith(("{", "[")) else None
    except ValueError as fault:  # a fault of decoding is one too
        raise _unread() from fault
    if document is not None:
        return RecipeReadingRequest.model_validate({"document": document, **more})
    if text.startswith("<"):
        return RecipeReadingRequest(html=text, **more)
    return RecipeReadingRequest(text=text, **more)


def _unread() -> BadInput:
    return BadInput(pointer="FILE", value="", problem=message("fault.recipe-file-unread"))
