"""The least that can look up a food: typer, rich, and the names of the tables read line by line."""

import csv
import tomllib
from pathlib import Path

import typer
from rich.console import Console
from rich.table import Table

FOODS = Path(__file__).resolve().parents[2] / "reference_data" / "foods"
app = typer.Typer(rich_markup_mode=None, add_completion=False, pretty_exceptions_enable=False)


@app.command()
def foods(word: str) -> None:
    """Every food whose name holds the word."""
    found = []
    with (FOODS / "lunch_foods.csv").open(encoding="utf-8", newline="") as lines:
        found += [(row["id"], row["name"]) for row in csv.DictReader(lines) if word in row["name"].lower()]
    recipes = tomllib.loads((FOODS / "recipes.toml").read_text("utf-8"))["recipe"]
    found += [(row["id"], row["name"]) for row in recipes if word in row["name"].lower()]
    with (FOODS / "generic_foods_text.txt").open(encoding="utf-8") as lines:
        for line in lines:
            food, name, _rest = line.split("\t", 2)
            if word in name.lower():
                found.append((food, name))
    listed = Table("id", "name")
    for row in found[:20]:
        listed.add_row(*row)
    Console().print(listed)


if __name__ == "__main__":
    app()
