"""From process start to the first correct answer over a socket, and resident memory, against a bare app."""

import time
from collections.abc import Iterator

from tests.benchmarks.figure import Figure
from tests.benchmarks.lunch_check_rate import BODY
from tests.benchmarks.server import connect, free_port, http_request, read_reply, resident_mb, serving

ROUNDS = 7


def first_answer(app: str) -> tuple[float, float]:
    """Seconds to the first correct answer, and resident MB after it."""
    port = free_port()
    began = time.perf_counter()
    with serving(app, port) as process:
        connection = connect(port)
        connection.sendall(http_request(BODY))
        status, reply = read_reply(connection)
        seconds = time.perf_counter() - began
        if status != 200:
            raise RuntimeError(reply.decode())
        return seconds, resident_mb(process.pid)


def figures() -> Iterator[Figure]:
    """Time as a ratio of medians, in turns; memory as the difference in parts of 60 MB.

    The first turn of each compiles the modules and warms the disk.
    """
    ours, bare = [], []
    for _ in range(ROUNDS + 1):
        ours.append(first_answer("service.api.app:create_app"))
        bare.append(first_answer("tests.benchmarks.bare_app:app"))
    ours, bare = ours[1:], bare[1:]
    our_time, bare_time = sorted(t for t, _ in ours)[ROUNDS // 2], sorted(t for t, _ in bare)[ROUNDS // 2]
    yield Figure(
        "start-up to first answer against a bare app",
        our_time / bare_time,
        2.5,
        at_most=True,
        detail=f"{our_time * 1000:.0f} ms against {bare_time * 1000:.0f} ms",
    )
    our_mb, bare_mb = sorted(m for _, m in ours)[ROUNDS // 2], sorted(m for _, m in bare)[ROUNDS // 2]
    yield Figure(
        "resident memory over the bare app, of 60 MB",
        (our_mb - bare_mb) / 60,
        1.0,
        at_most=True,
        detail=f"{our_mb:.0f} MB against {bare_mb:.0f} MB",
    )
