"""What was made from stored records, remembered until any of them changes."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

Made = TypeVar("Made")


class Remembered(Generic[Made]):
    """What was made lately, each by a key that must be another one as soon as anything that it follows from changes.

    ``most``: how many are kept; the one that was not asked for longest goes first. Several threads may ask; what is given
    out is shared, so nobody may change it. Like ``lru_cache``, but what makes it is no part of the key.

    >>> kept = Remembered[str](most=2)
    >>> kept.get("version 1", lambda: "made"), kept.get("version 1", lambda: "made again")
    ('made', 'made')
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._made: OrderedDict[Hashable, Made] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """What is remembered for a key, or else made now; where making it fails, nothing is remembered."""
        with self._lock:
            if key in self._made:
                self._made.move_to_end(key)
                return self._made[key]
        made = make()
        with self._lock:
            self._made[key] = made
            while len(self._made) > self._most:
                self._made.popitem(last=False)
        return made
