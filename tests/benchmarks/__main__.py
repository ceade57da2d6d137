"""Runs the benchmarks: ``python -m tests.benchmarks [NAME ...]``; one line a figure.

Every figure is a ratio of two things measured in this run, so that it means the same on another machine.
"""

import importlib
import sys

NAMES = (
    "lunch_check_rate",
    "packets",
    "start_up",
    "look_up",
    "branded",
    "label_reader",
    "combinations",
    "offers",
    "designs",
    "stock",
    "plan",
    "needs",
    "bulk",
    "week",
    "household",
    "store",
    "pages",
    "slow_phone",
)


def main(names: list[str]) -> int:
    """Run the named benchmarks, or all; 1 if any figure falls short of its goal."""
    unknown = [name for name in names if name not in NAMES]
    if unknown:
        sys.exit(f"no benchmark {', '.join(unknown)}; there are: {', '.join(NAMES)}")
    short = False
    for name in names or NAMES:
        for figure in importlib.import_module(f"tests.benchmarks.{name}").figures():
            print(figure.line(), flush=True)
            short = short or not figure.ok
    return 1 if short else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
