"""Promise: however many streams look, they leave the threads of pages to pages; a store that does not answer ends a stream."""

import threading
from collections import Counter
from types import SimpleNamespace
from typing import Any

import anyio
import anyio.to_thread
import pytest

from service.domain.errors import StoreFault
from service.domain.messages import message
from service.web.live import routes
from service.web.live.routes import LOOKS_AT_ONCE, MOST_OF_HOUSEHOLD

CALLER: Any = SimpleNamespace(household="one", device=None)


def a_request() -> Any:
    """What a stream asks of its request."""

    async def is_disconnected() -> bool:
        return False

    state = SimpleNamespace(looks=anyio.CapacityLimiter(LOOKS_AT_ONCE), stopping=lambda: True)
    return SimpleNamespace(app=SimpleNamespace(state=state), is_disconnected=is_disconnected)


async def all_of(request: Any, streams: "Counter[str]") -> list[str]:
    """What a stream says until it ends."""
    return [said async for said in routes._changes(request, CALLER, streams, "device")]


def test_looks_that_hang_take_few_threads(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sixty streams of a store that is slow; a thread for a page is free meanwhile."""
    begun, end = threading.Semaphore(0), threading.Event()

    def slow(_caller: object) -> str:
        begun.release()
        assert end.wait(60)
        return "mark"

    monkeypatch.setattr(routes, "_mark", slow)
    monkeypatch.setattr(routes, "BETWEEN_LOOKS", 0)

    async def looked() -> None:
        request, streams = a_request(), Counter[str]()
        async with anyio.create_task_group() as group:
            for _ in range(MOST_OF_HOUSEHOLD):
                group.start_soon(all_of, request, streams)
            for _ in range(LOOKS_AT_ONCE):
                assert await anyio.to_thread.run_sync(begun.acquire, True, 60)
            with anyio.fail_after(60):
                assert await anyio.to_thread.run_sync(lambda: True)
            assert not begun.acquire(blocking=False)
            end.set()
        assert not streams

    try:
        anyio.run(looked)
    finally:
        end.set()


def test_a_store_that_does_not_answer_ends_the_stream(monkeypatch: pytest.MonkeyPatch) -> None:
    """Quietly: the next request of the page says what is wrong."""

    def gone(_caller: object) -> str:
        raise StoreFault(pointer="", value="the store", problem=message("fault.store-no-answer"))

    monkeypatch.setattr(routes, "_mark", gone)
    streams = Counter[str]()

    async def looked() -> list[str]:
        return await all_of(a_request(), streams)

    assert anyio.run(looked) == []
    assert not streams
