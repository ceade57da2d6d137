"""Looks up branded foods in the index on this machine."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from service.domain.errors import NotThere
from service.domain.messages import Message, message
from service.jobs.foods.branded.reply import branded_food_reply

if TYPE_CHECKING:
    from service.lookup.branded.index import BrandedIndex

FILE_NAME = "branded-foods.sqlite3"
MOST_FOUND = 50


def index_path(asked: str = "") -> Path:
    """Where the index lies: ``asked``, else next to the household store in this platform's folder for a user's data."""
    if asked:
        return Path(asked)
    from platformdirs import user_data_path

    return user_data_path("packed-lunch", appauthor=False) / FILE_NAME


def branded_index(asked: str = "") -> "BrandedIndex":
    """The index that was built; ``StoreFault`` where there is none. ``asked``: its path, where one is set."""
    from service.lookup.branded.index import BrandedIndex

    return BrandedIndex(index_path(asked))


def show_branded(asked: str, code: str) -> dict[str, Any]:
    """The food of a code in the index. ``asked``: the index's path, where one is set.

    Raises ``BadInput`` for what cannot be a code, whether there is an index or not, ``StoreFault`` where there is none, and ``NotThere``
    where it does not have the code.
    """
    from service.lookup.branded.codes import packet_code

    packet_code(code, "CODE")
    index = branded_index(asked)
    food = index.by_code(code)
    if food is None:
        raise NotThere(pointer="CODE", value=code, problem=_not_in_index(code, index.release.isoformat()))
    return branded_food_reply(food)


def _not_in_index(code: str, on: str) -> Message:
    """That a code is not in the index, and where its check digit is wrong, that it is probably mistyped."""
    from service.lookup.branded.codes import packet_code

    if packet_code(code).notes:
        return message("fault.code-mistyped", on=on)
    return message("fault.code-not-in-index", on=on)


def find_branded(index: "BrandedIndex", words: str, limit: int) -> dict[str, Any]:
    """Foods whose description or brand has the words, the nearest first, at most ``MOST_FOUND``."""
    found = index.by_words(words, min(limit, MOST_FOUND))
    return {"release": index.release.isoformat(), "items": [branded_food_reply(one) for one in found]}
