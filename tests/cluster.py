"""A Dask cluster of worker processes on this machine's loopback, for the tests: ``python -m tests.cluster [WORKERS]``.

Prints the scheduler's address; takes its workers away at a line of standard input, and ends when that does.
"""

import os
import sys
from typing import NoReturn


def end_worker(*_given: object) -> NoReturn:
    """Work over which a worker ends, as one that runs out of memory."""
    os._exit(1)


def main() -> None:
    """Serve until nobody is there any more."""
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=int(sys.argv[1]) if len(sys.argv) > 1 else 2,
        threads_per_worker=1,
        processes=True,
        host="127.0.0.1",
        dashboard_address=None,
        memory_limit=0,
    ) as cluster:
        print(cluster.scheduler_address, flush=True)
        if sys.stdin.readline():
            cluster.scale(0)
        sys.stdin.read()


if __name__ == "__main__":
    main()
