"""What each food names of allergens, read from the tables of foods and recipes themselves, by their plain words.

Next to all that looks foods over for a page, so that what the pages show is held against the tables alone.
"""

import csv
import tomllib
from functools import lru_cache
from pathlib import Path

FOODS = Path(__file__).parents[3] / "reference_data" / "foods"
AVOIDED = ("milk", "egg", "peanut", "soy", "sesame", "wheat", "mustard", "celery")
"""Allergens without members in other words: what a row names of them is that very word."""
NAMED = ("contains", "may_contain")


@lru_cache(maxsize=1)
def named() -> dict[str, frozenset[str]]:
    """What each lunch food and each dish names, by its id; a dish names what its ingredients do."""
    rows = csv.DictReader((FOODS / "lunch_foods.csv").read_text(encoding="utf-8").splitlines())
    found = {
        row["id"]: frozenset(word.strip() for column in NAMED for word in row[column].split(";") if word.strip())
        for row in rows
    }
    for dish in tomllib.loads((FOODS / "recipes.toml").read_text(encoding="utf-8"))["recipe"]:
        inside = [one["food"] for one in dish["ingredients"]]
        found[dish["id"]] = frozenset(word for one in inside for word in found.get(one, frozenset()))
    return found


@lru_cache(maxsize=1)
def telling() -> list[str]:
    """The foods that name at least one of the allergens tried, and as many that name none."""
    some = sorted(one for one, words in named().items() if words & set(AVOIDED))
    none = sorted(one for one, words in named().items() if not words & set(AVOIDED))
    return [*some, *none[: len(some)]]
