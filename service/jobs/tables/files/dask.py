"""Checks the frames of a table on the workers of a Dask cluster (the extra ``dask``)."""

from __future__ import annotations

import logging
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import CancelledError
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import pandas as pd

from service import __version__
from service.domain.errors import BadInput
from service.domain.foods.packets import NOTHING_KNOWN_OF_FOODS, KnownOfFoods
from service.domain.messages import message
from service.jobs.tables.check_table import CheckedTable, check_table

if TYPE_CHECKING:
    from service.jobs.tables.files.run import Checker

SECONDS_TO_ANSWER = 10
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
            most = AHEAD * max(1, len(client.scheduler_info(n_workers=-1)["workers"]))
            under_way: deque[Any] = deque()
            for chunk in chunks:
                with _lost_is_reported(address):
                    under_way.append(client.submit(check_table, chunk, with_findings, known, yardsticks, pure=False))
                if len(under_way) >= most:
                    yield _answer(under_way.popleft(), address)
            while under_way:
                yield _answer(under_way.popleft(), address)

    return checked


def _answer(future: Any, address: str) -> CheckedTable:
    with _lost_is_reported(address):
        answer: CheckedTable = future.result()
    return answer


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
    from distributed.comm.core import CommClosedError

    try:
        yield
    except (ClosedClientError, CommClosedError, FutureCancelledError, KilledWorker, CancelledError) as fault:
        raise BadInput(
            pointer="--dask",
            value=address,
            problem=message("fault.cluster-lost"),
        ) from fault


def connected(address: str) -> Any:
    """A client of the cluster; closed at the end of a with statement."""
    try:
        from distributed import Client
    except ModuleNotFoundError as fault:
        raise BadInput(
            pointer="--dask",
            value=address,
            problem=message("fault.dask-not-installed"),
        ) from fault
    try:
        client: Any = Client(address, timeout=SECONDS_TO_ANSWER, set_as_default=False)  # type: ignore[no-untyped-call]
        versions = client.run(worker_version)
    except (OSError, ValueError, TimeoutError) as fault:
        raise BadInput(
            pointer="--dask",
            value=address,
            problem=message("fault.no-scheduler"),
        ) from fault
    other = {version for version in versions.values() if version != __version__}
    if other or not versions:
        client.close()
        raise BadInput(
            pointer="--dask",
            value=address,
            problem=message("fault.workers-of-other-version", versions=sorted(other), version=__version__)
            if other
            else message("fault.no-workers", version=__version__),
        )
    return client


def worker_version() -> str:
    """The version of this program where it is asked."""
    return __version__
