"""Looks a branded food up by its code or by words: in the index first, then in what was kept, then over the internet."""

from typing import TYPE_CHECKING, Any

from service.domain.errors import NotThere
from service.domain.foods.branded import BrandedFood
from service.domain.messages import message
from service.jobs.foods.branded.look_up import MOST_FOUND, branded_index, index_path
from service.jobs.foods.branded.reply import branded_food_reply
from service.reference.messages import worded_as

if TYPE_CHECKING:
    from service.lookup.live.looking import LiveAnswer
    from service.lookup.live.source import LiveSource


def look_up_branded(
    *, gtin: str | None, words: str, limit: int, index_file: str, live: "LiveSource | None"
) -> dict[str, Any]:
    """The foods of a code, one at the most, or of words: ``items``, and where it was looked.

    ``gtin``: the code; where it is None, ``words`` are looked for. ``index_file``: where the index lies, if that is set.
    ``live``: None where it is off; it is asked only for what the index does not have. No transaction should be open: the network
    may take seconds.

    Raises ``BadInput`` for what cannot be a code, ``NotThere`` where there is neither an index nor a live source, ``StoreFault``
    for an index that cannot be read.
    """
    from service.lookup.branded.codes import packet_code

    if gtin is not None:
        packet_code(gtin, "/gtin")
    built = index_path(index_file).is_file()
    if not built and live is None:
        raise NotThere(
            pointer="/q" if gtin is None else "/gtin",
            value=words if gtin is None else gtin,
            problem=message("fault.no-branded-index"),
        )
    foods: list[BrandedFood] = []
    index = None
    if built:
        index = branded_index(index_file)
        if gtin is None:
            foods = index.by_words(words, min(limit, MOST_FOUND))
        else:
            found = index.by_code(gtin)
            foods = [] if found is None else [found]
    answer = None
    if live is not None and not foods:
        answer = live.by_words(words, min(limit, MOST_FOUND)) if gtin is None else live.by_code(gtin)
        foods = list(answer.foods)
    return {
        "items": [branded_food_reply(one) for one in foods],
        "index": None if index is None else {"release": index.release.isoformat()},
        "live": None if answer is None else _of_live(answer),
    }


def index_release(index_file: str) -> str:
    """The day as of which the index is, or empty where none was built; ``StoreFault`` for one that cannot be read."""
    return branded_index(index_file).release.isoformat() if index_path(index_file).is_file() else ""


def _of_live(answer: "LiveAnswer") -> dict[str, Any]:
    return {
        "read": None if answer.read is None else answer.read.isoformat(),
        "kept": answer.kept,
        "stale": answer.stale,
        **worded_as("problem", answer.problem),
    }
