"""A Dask cluster of two worker processes on this machine's loopback, for the tests: ``python -m tests.cluster``.

Prints the scheduler's address, and ends when its standard input does.
"""

import sys


def main() -> None:
    """Serve until nobody is there any more."""
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        processes=True,
        host="127.0.0.1",
        dashboard_address=None,
        memory_limit=0,
    ) as cluster:
        print(cluster.scheduler_address, flush=True)
        sys.stdin.read()


if __name__ == "__main__":
    main()
