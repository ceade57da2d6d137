"""The live source: a code or words, answered from what was kept, else from the network.

A look-up ends within ``SECONDS``. What was kept for more than thirty days is used only where the network does not answer, and
that is said.
"""

import sqlite3
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from threading import BoundedSemaphore, Lock, Thread
from time import monotonic
from urllib.parse import urlsplit

from service.domain.messages import message
from service.lookup.branded.codes import PacketCode, packet_code, written_out
from service.lookup.live.asking import Asking
from service.lookup.live.looking import LiveAnswer, Look, expected, worth_keeping
from service.lookup.live.pace import Pace
from service.lookup.live.session import open_session

SECONDS = 8.0
AT_ONCE = 4
"""Look-ups with one key at a time: whoever comes then is told so at once, so that nobody else's request waits for the network."""
MOST_NOT_FOUND = 200
NOT_FOUND_FOR = 24 * 3600.0
"""Seconds for which a code that the source did not know is not asked for again."""


class LiveSource:
    """FoodData Central for one key. What a key has left, and the codes not found, are known to this object only.

    ``base_url``: what comes before ``/v1``. ``cache_file``: where answers are kept, without the key.
    """

    def __init__(self, key: str, base_url: str, cache_file: Path, *, seconds: float = SECONDS) -> None:
        self._key, self._base, self._file, self._seconds = key, base_url.rstrip("/"), cache_file, seconds
        self._pace = Pace()
        self._not_found: OrderedDict[int, float] = OrderedDict()
        self._lock = Lock()
        self._free = BoundedSemaphore(AT_ONCE)

    def __repr__(self) -> str:
        return f"LiveSource({urlsplit(self._base).hostname})"

    def by_code(self, code: str) -> LiveAnswer:
        """The newest version of the entry of a code; raises ``BadInput`` for what cannot be a code."""
        answer = self._of_code(packet_code(code))
        if answer.foods or answer.problem is not None:
            return answer
        whole = written_out(code)
        return answer if whole is None else self._of_code(packet_code(str(whole)))

    def _of_code(self, asked: PacketCode) -> LiveAnswer:
        if self._is_known_as_not_found(asked.number):
            return LiveAnswer()
        answer = self._within_time(lambda look: look.by_code(asked))
        if not answer.foods and answer.problem is None:
            self._note_not_found(asked.number)
        return answer

    def by_words(self, text: str, limit: int = 20) -> LiveAnswer:
        """Foods that the source's own search finds for words, the best first; none for a text without words."""
        words = " ".join(text.split())
        if not words:
            return LiveAnswer()
        return self._within_time(lambda look: look.by_words(words, limit))

    def _within_time(self, ask: Callable[[Look], LiveAnswer]) -> LiveAnswer:
        """What is found until the time is over."""
        if not self._free.acquire(blocking=False):
            return LiveAnswer(problem=message("live.busy"))
        try:
            return self._in_a_thread(ask)
        finally:
            self._free.release()

    def _in_a_thread(self, ask: Callable[[Look], LiveAnswer]) -> LiveAnswer:
        """In a thread of its own: looking up the host's name knows no limit of time."""
        found: list[LiveAnswer | BaseException] = []
        until = monotonic() + self._seconds

        def work() -> None:
            try:
                asking = Asking(self._pace, until, expected)
                with open_session(self._file, self._key, asking, worth_keeping) as session:
                    found.append(ask(Look(self._base, session, asking)))
            except (sqlite3.Error, OSError):
                found.append(LiveAnswer(problem=message("live.no-cache", file=str(self._file))))
            except BaseException as fault:
                found.append(fault)

        thread = Thread(target=work, name="live source", daemon=True)
        thread.start()
        thread.join(self._seconds + 0.5)
        if not found:
            return LiveAnswer(problem=message("live.too-slow"))
        (answer,) = found
        if isinstance(answer, BaseException):
            raise answer
        return answer

    def _is_known_as_not_found(self, number: int) -> bool:
        with self._lock:
            return monotonic() < self._not_found.get(number, 0.0)

    def _note_not_found(self, number: int) -> None:
        with self._lock:
            self._not_found[number] = monotonic() + NOT_FOUND_FOR
            while len(self._not_found) > MOST_NOT_FOUND:
                self._not_found.popitem(last=False)
