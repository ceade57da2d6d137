"""Connections of the server: how many there may be, how long each may keep it waiting, and which must go when there are too many.

uvicorn has a time-out for connections between two requests and no other: none for a head that does not come, none for a reader
that does not read, no limit for an address. They are added to its protocol here. When there is one connection too many, the
address that has most loses the one that has waited longest: first one with no request, then one whose body is still
coming. One whose request is being answered is left alone. So nobody who holds connections open keeps others out.
"""

import asyncio
import resource
from collections import defaultdict
from typing import NamedTuple, Protocol

from uvicorn.protocols.http.h11_impl import H11Protocol

from service.settings import LOOPBACK, Settings

KEEP_ALIVE_S = 5
"""How long a connection may rest between two requests; uvicorn's own default."""
AT_ONCE = 32
"""Connections accepted before anything is read: fewer than any limit, so that no crowd pushes out whoever speaks at once."""
OTHER_FILES = 200
"""Files that are open besides connections: the store's, the tables', the log."""


class Limits(NamedTuple):
    """How many connections there may be in all and of one address, and the seconds that each may take.

    ``behind_proxy``: connections from this machine are then those of everybody, and only counted in all.
    """

    most: int
    of_one_address: int
    head_seconds: float
    send_seconds: float
    behind_proxy: bool = False


def limits_of(chosen: Settings) -> Limits:
    """The limits of the settings; as many files as the system allows may be open, and no more connections than that."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    if soft != hard:
        resource.setrlimit(resource.RLIMIT_NOFILE, (hard, hard))
    room = chosen.connections if hard == resource.RLIM_INFINITY else max(1, hard - OTHER_FILES - AT_ONCE)
    return Limits(
        min(chosen.connections, room),
        chosen.connections_of_one_address,
        chosen.head_seconds,
        chosen.send_seconds,
        chosen.behind_proxy,
    )


class Inside(Protocol):
    """A connection as the door looks at it. ``since``: from when on it waits, in seconds of the loop; ``at_work``: it is left alone."""

    address: str
    since: float
    transport: asyncio.Transport

    @property
    def at_work(self) -> bool:
        """Whether a request is here as a whole and its answer is not done."""

    @property
    def body_is_coming(self) -> bool:
        """Whether the head of a request is here and its body is not."""


class Door:
    """Who is inside, by address."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._inside: defaultdict[str, set[Inside]] = defaultdict(set)
        self._count = 0

    def come(self, one: Inside) -> None:
        """Let one in; where that is one too many, another goes, or it goes itself if all others are at work."""
        self._inside[one.address].add(one)
        self._count += 1
        of_all = one.address in LOOPBACK and self.limits.behind_proxy
        if not of_all and len(self._inside[one.address]) > self.limits.of_one_address:
            self._make_room(one, one.address)
        elif self._count > self.limits.most:
            self._make_room(one, max(self._inside, key=lambda address: len(self._inside[address])))

    def go(self, one: Inside) -> None:
        """One has gone; twice is once."""
        inside = self._inside.get(one.address, set())
        if one in inside:
            inside.remove(one)
            self._count -= 1
        if not inside:
            self._inside.pop(one.address, None)

    def _make_room(self, newest: Inside, address: str) -> None:
        others = [one for one in self._inside[address] if one is not newest and not one.at_work]
        gone = min(others, key=lambda one: (one.body_is_coming, one.since), default=newest)
        self.go(gone)
        gone.transport.abort()


class BoundedProtocol(H11Protocol):
    """uvicorn's protocol with time-outs and a door; ``bounded`` gives it its limits."""

    door: Door

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Wait for the head of the first request."""
        super().connection_made(transport)
        self.address = self.client[0] if self.client else ""
        self._head_by: asyncio.TimerHandle | None = None
        self._sending_by: asyncio.TimerHandle | None = None
        self._wait_for_head(self.door.limits.head_seconds)
        self.door.come(self)

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing is waited for any more."""
        self.door.go(self)
        self._stop_waiting()
        self.resume_writing()
        super().connection_lost(exc)

    @property
    def at_work(self) -> bool:
        """Whether a request is here as a whole and its answer is not done."""
        return self.cycle is not None and not self.cycle.response_complete and not self.cycle.more_body

    @property
    def body_is_coming(self) -> bool:
        """Whether the head of a request is here and its body is not."""
        return self.cycle is not None and not self.cycle.response_complete and self.cycle.more_body

    def handle_events(self) -> None:
        """Read what came; once the head of a request is here, it is not waited for."""
        before = self.cycle
        super().handle_events()
        if self.cycle is not before and not self.cycle.response_complete:
            self._stop_waiting()

    def on_response_complete(self) -> None:
        """Wait for the next head; what is left of the body of this request has no longer either."""
        answered = self.cycle
        self._wait_for_head(KEEP_ALIVE_S + self.door.limits.head_seconds)
        super().on_response_complete()
        if self.cycle is not answered:  # the next request was here already
            self._stop_waiting()

    def pause_writing(self) -> None:
        """The reader does not read; it is given some seconds."""
        super().pause_writing()
        self._sending_by = self.loop.call_later(self.door.limits.send_seconds, self.transport.abort)

    def resume_writing(self) -> None:
        """The reader reads again."""
        if self._sending_by is not None:
            self._sending_by.cancel()
            self._sending_by = None
        super().resume_writing()

    def _wait_for_head(self, seconds: float) -> None:
        self.since = self.loop.time()
        self._stop_waiting()
        self._head_by = self.loop.call_later(seconds, self._too_late)

    def _stop_waiting(self) -> None:
        if self._head_by is not None:
            self._head_by.cancel()
            self._head_by = None

    def _too_late(self) -> None:
        if self.transport.get_write_buffer_size():  # an answer that is read slowly has the time of a slow reader
            self._head_by = self.loop.call_later(self.door.limits.send_seconds, self.transport.abort)
        else:
            self.transport.abort()


def bounded(limits: Limits) -> type[BoundedProtocol]:
    """The protocol with these limits, for ``http`` of uvicorn's configuration."""
    return type("Bounded", (BoundedProtocol,), {"door": Door(limits)})
