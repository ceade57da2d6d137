"""Checks the frames of a table on the workers of a Dask cluster (the extra ``dask``)."""

from __future__ import annotations

import logging
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import CancelledError, Future
from contextlib import contextmanager, suppress
from threading import Thread
from time import monotonic
from typing import TYPE_CHECKING, Any, TypeVar

import pandas as pd

from service import __version__
from service.domain.errors import BadInput
from service.domain.foods.packets import NOTHING_KNOWN_OF_FOODS, KnownOfFoods
from service.domain.messages import message
from service.jobs.tables.check_table import CheckedTable, check_table

if TYPE_CHECKING:
    from service.jobs.tables.files.run import Checker

Given = TypeVar("Given")

SECONDS_TO_ANSWER = 10
SECONDS_BETWEEN_LOOKS = 5
"""How often it is looked whether anybody is still at work on a frame; with the others here, a loss is told within a minute."""
SECONDS_WITHOUT_WORKERS = 20
"""Where something starts lost workers again, it does so within seconds."""
SECONDS_TO_CLOSE = 5
AHEAD = 2
"""Frames under way for each worker, so that none waits and memory stays bounded."""


def checker_on(address: str, known: KnownOfFoods = NOTHING_KNOWN_OF_FOODS, yardsticks: Sequence[str] = ()) -> Checker:
    """A way to check frames on the cluster whose scheduler answers at an address.

    ``known``, ``yardsticks``: see ``check_table``.

    The answers come in the order of the frames, so that what is written is the same bytes as on one machine. Raises
    ``BadInput`` where the extra is missing, nobody answers, or a worker has another version of this program.
    """

    def checked(chunks: Iterable[pd.DataFrame], with_findings: bool) -> Iterator[CheckedTable]:
        with _without_log(), connected(address) as client:
            with _lost_is_reported(address):
                most = AHEAD * max(1, len(heard_of(client)))
            under_way: deque[Any] = deque()
            for chunk in chunks:
                with _lost_is_reported(address):
                    under_way.append(client.submit(check_table, chunk, with_findings, known, yardsticks, pure=False))
                if len(under_way) >= most:
                    yield _answer(client, under_way.popleft(), address)
            while under_way:
                yield _answer(client, under_way.popleft(), address)

    return checked


def _answer(client: Any, future: Any, address: str) -> CheckedTable:
    """The answer to one frame; ``BadInput`` as soon as it is seen that nobody is left to give it."""
    seen, heard = monotonic(), set[tuple[str, float]]()
    while True:
        with _lost_is_reported(address):
            try:
                answer: CheckedTable = future.result(timeout=SECONDS_BETWEEN_LOOKS)
            except TimeoutError:
                before, heard = heard, heard_of(client)
                seen = monotonic() if heard - before else seen
            else:
                return answer
        if monotonic() - seen > SECONDS_WITHOUT_WORKERS:
            raise BadInput(
                pointer="--dask",
                value=address,
                problem=message("fault.workers-lost", version=__version__),
            )


def heard_of(client: Any) -> set[tuple[str, float]]:
    """The workers, each with the moment at which the scheduler last heard of it; ``TimeoutError`` if it does not say so in time."""
    told = client.sync(client.scheduler.identity, n_workers=-1, callback_timeout=SECONDS_TO_ANSWER)
    return {(worker, one["last_seen"]) for worker, one in told["workers"].items()}


@contextmanager
def _without_log() -> Iterator[None]:
    """What the cluster's client logs of a lost scheduler are pages of tracebacks: the fault says it in a sentence."""
    before = logging.root.manager.disable
    logging.disable(logging.CRITICAL)
    try:
        yield
    finally:
        logging.disable(before)


@contextmanager
def _lost_is_reported(address: str) -> Iterator[None]:
    """Report a scheduler or workers that are lost in the middle of a run; ``BadInput``."""
    from distributed import KilledWorker
    from distributed.client import ClosedClientError, FutureCancelledError

    try:
        yield
    except KilledWorker as fault:
        raise BadInput(
            pointer="--dask",
            value=address,
            problem=message("fault.workers-killed"),
        ) from fault
    except (ClosedClientError, FutureCancelledError, CancelledError, OSError) as fault:  # with time-outs, closed lines
        raise BadInput(
            pointer="--dask",
            value=address,
            problem=message("fault.cluster-lost"),
        ) from fault


@contextmanager
def connected(address: str) -> Iterator[Any]:
    """A client of the cluster, closed at the end; ``BadInput`` where nobody answers or no worker can do the work."""
    try:
        from distributed import Client
    except ModuleNotFoundError as fault:
        raise BadInput(
            pointer="--dask",
            value=address,
            problem=message("fault.dask-not-installed"),
        ) from fault
    try:
        client: Any = in_time(lambda: Client(address, timeout=SECONDS_TO_ANSWER, set_as_default=False))  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as fault:
        raise BadInput(
            pointer="--dask",
            value=address,
            problem=message("fault.no-scheduler"),
        ) from fault
    # tasks of its own that a lost cluster ends would print tracebacks later: the fault says it in a sentence
    client.loop.asyncio_loop.set_exception_handler(lambda _loop, _told: None)
    try:
        _check_workers(client, address)
        yield client
    finally:
        with suppress(OSError):  # a cluster that is gone, or hangs, has nobody to say goodbye to
            client.close(timeout=SECONDS_TO_CLOSE)


def _check_workers(client: Any, address: str) -> None:
    """``BadInput`` unless there are workers, and each has this version of the program."""
    try:
        with _lost_is_reported(address):
            versions = in_time(lambda: client.run(worker_version))
    except ImportError as fault:
        raise BadInput(
            pointer="--dask",
            value=address,
            problem=message("fault.workers-without-program", version=__version__),
        ) from fault
    other = {version for version in versions.values() if version != __version__}
    if other or not versions:
        raise BadInput(
            pointer="--dask",
            value=address,
            problem=message("fault.workers-of-other-version", versions=sorted(other), version=__version__)
            if other
            else message("fault.no-workers", version=__version__),
        )


def in_time(ask: Callable[[], Given]) -> Given:
    """What is answered; ``TimeoutError`` after twice the time to answer.

    A scheduler or worker that hangs takes the question and never answers, and these questions have no time-out of their
    own: the thread that waits is left to end with the process.
    """
    answered: Future[Given] = Future()

    def wait() -> None:
        try:
            answered.set_result(ask())
        except BaseException as fault:
            answered.set_exception(fault)

    Thread(target=wait, daemon=True).start()
    return answered.result(2 * SECONDS_TO_ANSWER)


def worker_version() -> str:
    """The version of this program where it is asked."""
    return __version__
