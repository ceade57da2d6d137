"""Sends made-up requests to the whole application: ``python -m tests.fuzz REQUESTS [--seed N] [--first N]``.

Half go to the JSON API, half to the pages, in this process without a socket. What is found is printed with the request that
shows it; the exit code is 1 if anything is. The same seed makes the same requests as long as the answers are the same.
"""

import argparse
import signal
import sys

from tests.fuzz.running import run


def main() -> int:
    """Read the command line, run, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("requests", type=int, help="how many requests are made up")
    parser.add_argument("--seed", type=int, default=1, help="another one makes up other requests")
    parser.add_argument(
        "--first", type=int, default=0, help="number of the first request, to come back to one that was told"
    )
    chosen = parser.parse_args()
    signal.signal(
        signal.SIGTERM, lambda number, _frame: sys.exit(128 + number)
    )  # the store is taken away on the way out
    return run(chosen.requests, chosen.seed, chosen.first)


if __name__ == "__main__":
    sys.exit(main())
