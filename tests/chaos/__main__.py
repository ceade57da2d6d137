"""Writes while everything goes wrong: ``python -m tests.chaos MINUTES [--database sqlite|postgresql|both] [--seed N]``.

Several writers keep, edit and remove records over HTTP, and know exactly what they were told. Meanwhile the server is killed
every few seconds, the database stopped or frozen, the disk filled, the clock moved, locks held, connections flooded. Every
answer must have its promised form, and what was acknowledged must be there. The exit code is 1 if anything was found.
"""

import argparse
import signal
import sys
from types import FrameType

from tests.chaos.running import run, shown
from tests.postgres import programs


def main() -> int:
    """Read the command line, run, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.chaos", description=__doc__)
    parser.add_argument("minutes", type=float, help="how long, on each database")
    parser.add_argument("--database", choices=("sqlite", "postgresql", "both"), default="both")
    parser.add_argument("--seed", type=int, default=1, help="another one draws other moments and faults")
    chosen = parser.parse_args()
    if chosen.database != "sqlite" and programs() is None:
        sys.exit("PostgreSQL is not installed here (no initdb): apt-get install postgresql, or --database sqlite")

    def end(number: int, _frame: FrameType | None) -> None:
        sys.exit(128 + number)  # what is open is closed on the way out

    signal.signal(signal.SIGTERM, end)
    signal.signal(signal.SIGHUP, end)
    found = False
    for database in ("sqlite", "postgresql") if chosen.database == "both" else (chosen.database,):
        notes = run(database, chosen.minutes, chosen.seed)
        print(shown(database, chosen.minutes, notes, chosen.seed), flush=True)
        found = found or bool(notes.findings)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
