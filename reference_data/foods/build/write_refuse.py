"""Writes reference_data/plan/refuse.toml: what is thrown away of a food as it is bought, from SR28's FOOD_DES.

``python reference_data/foods/build/write_refuse.py --downloads DIR``; the archive is that of the generic foods.

A row is written where the food is bought with what the share speaks of: fruit, vegetables, eggs, and dates and prunes only
where they are bought with their stones. Meat is bought with or without bone and nuts with or without shells: no row, and
the cooked part of a vegetable has the row of the raw one (foods/bought_as.toml).
"""

import argparse
import csv
from pathlib import Path

from generic_archives import SR28_ARCHIVE, find_archives, tar_texts
from generic_sr28 import rows_of

FOLDER = Path(__file__).resolve().parents[2]
HEAD = """# Of 100 g of a food as it is bought, how many are thrown away before it is eaten: peel, core, stones, trimmings, shell.
# Written by foods/build/write_refuse.py from FOOD_DES of SR28 (fields Refuse and Ref_desc). Meat, nuts and dried fruit have
# no row: they are bought with or without what the share speaks of.
source = "usda-sr28 FOOD_DES, Refuse and Ref_desc"
status = "read"
"""
CATEGORIES = ("fruit", "vegetables")
RAW = (
    "sr28-11090", "sr28-11124", "sr28-11052", "sr28-11098", "sr28-11209", "sr28-11352", "sr28-11507", "sr28-01123",
)  # fmt: skip
"""Raw foods of foods/bought_as.toml that are bought with a refuse."""
BOUGHT_OTHERWISE = ("sweet-potato-baked",)
"""Its share is of the baked one; it is bought raw."""


def main() -> None:
    """Read and write."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--downloads", type=Path, required=True)
    path = find_archives(parser.parse_args().downloads)[SR28_ARCHIVE.package]
    text = tar_texts(path, "sr28", ("FOOD_DES.txt",), "latin-1")["FOOD_DES.txt"]
    described = {row[0]: row for row in rows_of(text, "FOOD_DES.txt")}
    with (FOLDER / "foods/lunch_foods.csv").open(encoding="utf-8", newline="") as file:
        foods = {
            row["id"]: row["composition"]
            for row in csv.DictReader(file)
            if row["category"] in CATEGORIES and row["id"] not in BOUGHT_OTHERWISE
        }
    foods |= {one: one for one in RAW}
    lines = [HEAD]
    for food, composition in foods.items():
        row = described.get(composition.removeprefix("sr28-"))
        if row is not None and row[8] not in ("", "0"):
            lines.append(f'[[refuse]]\nfood = "{food}"\npercent = {int(row[8])}.0\nwhat = "{row[7].lower()}"\n')
    (FOLDER / "plan/refuse.toml").write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    main()
