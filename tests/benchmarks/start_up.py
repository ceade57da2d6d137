"""From process start to the first correct answer over a socket, and resident memory, against a bare app.

What is served, with the pages, and the API alone.
"""

import time
from collections.abc import Iterator
from statistics import median

from tests.benchmarks.figure import Figure
from tests.benchmarks.lunch_check_rate import BODY
from tests.benchmarks.server import (
    API_ALONE,
    SERVED,
    connect,
    free_port,
    http_request,
    read_reply,
    resident_mb,
    serving,
)

ROUNDS = 7
BARE = "tests.benchmarks.bare_app:app"


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
    """Time as a ratio of medians, in turns; memory as the difference in parts of 60 MB; for what is served and the API.

    The first turn of each compiles the modules and warms the disk.
    """
    apps = (SERVED, API_ALONE, BARE)
    turns = [[first_answer(app) for app in apps] for _ in range(ROUNDS + 1)]
    served, api, bare = ([median(one) for one in zip(*each, strict=True)] for each in zip(*turns[1:], strict=True))
    for name, (seconds, megabytes) in (("", served), (", the API alone", api)):
        yield Figure(
            f"start-up to first answer against a bare app{name}",
            seconds / bare[0],
            2.5,
            at_most=True,
            detail=f"{seconds * 1000:.0f} ms against {bare[0] * 1000:.0f} ms",
        )
        yield Figure(
            f"resident memory over the bare app, of 60 MB{name}",
            (megabytes - bare[1]) / 60,
            1.0,
            at_most=True,
            detail=f"{megabytes:.0f} MB against {bare[1]:.0f} MB",
        )
