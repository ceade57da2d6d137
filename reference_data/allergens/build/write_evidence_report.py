"""Write ``evidence_report.md``: how often an unread label is asked for, by category of foods and allergen.

Run it after a change of ``evidence_groups.toml``, of the counts or of the foods: ``python reference_data/allergens/build/write_evidence_report.py``.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from pathlib import Path

from service.domain.allergens.screening import Avoidance, screen_food
from service.domain.foods.food import Food
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.catalogue import find_food
from service.reference.foods.generic_foods import generic_foods
from service.reference.foods.lunch_foods import lunch_foods

REPORT = Path(__file__).parents[1] / "evidence_report.md"
ALLERGENS = [
    allergen
    for row in vocabulary().legal_rows
    if row.jurisdiction == "EU" and row.duty == "mandatory"
    for allergen in row.allergens
]
"""The 14 of Regulation (EU) 1169/2011, Annex II."""
GRADES = ("avoid", "may_contain", "check_label", "label_not_seen", "not_declared")
HEAD = """# Allergens of foods whose labels were not read: the grades

Written by `build/write_evidence_report.py`; do not edit by hand. A cell is one food and one of the 14 allergens of Regulation (EU)
1169/2011, Annex II, with no packet read. The five grades: `avoid` (contains), `may_contain`, `check_label` (read the label first),
`label_not_seen` (read it once), `not_declared` (single foods with nothing added).
"""
Counts = Mapping[str, Counter[str]]


def grade(food: Food, allergen: str) -> str:
    """The grade of one cell."""
    return screen_food(vocabulary(), food, Avoidance(allergen, "contains")).outcome


def shares(counts: Counter[str]) -> list[str]:
    """The share of each grade in percent."""
    return [f"{100 * counts[one] / counts.total():.0f}" for one in GRADES]


def table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> list[str]:
    """A markdown table."""
    head = list(head)
    return [f"| {' | '.join(row)} |" for row in (head, ["---"] * len(head), *rows)] + [""]


def graded(title: str, counts: Counts, foods: Counter[str] | None = None) -> list[str]:
    """A row of shares for each name."""
    rows = [[name, *([str(foods[name])] if foods else []), *shares(counts[name])] for name in sorted(counts)]
    return table([title, *(["foods"] if foods else []), *(f"{one} %" for one in GRADES)], rows)


def report() -> str:
    """The whole text."""
    by_category: dict[str, Counter[str]] = defaultdict(Counter)
    by_allergen: dict[str, Counter[str]] = defaultdict(Counter)
    first: dict[tuple[str, str], int] = Counter()
    foods = Counter(food.category for food in lunch_foods())
    for food in lunch_foods():
        for allergen in ALLERGENS:
            found = grade(food, allergen)
            by_category[food.category][found] += 1
            by_allergen[allergen][found] += 1
            first[food.category, allergen] += found == "check_label"
    by_group: dict[str, Counter[str]] = defaultdict(Counter)
    groups: Counter[str] = Counter()
    for food_id in generic_foods().ids():
        generic = find_food(food_id)
        if generic is not None:
            groups[generic.category] += 1
            by_group[generic.category].update(grade(generic, allergen) for allergen in ALLERGENS)
    lines = [HEAD, "## Lunch foods by category", "", *graded("category", by_category, foods)]
    lines += ["## Lunch foods by allergen", "", *graded("allergen", by_allergen)]
    lines += ["## Lunch foods whose label is to be read first, by category and allergen, in percent of the foods", ""]
    lines += table(
        ["category", *ALLERGENS],
        [[name, *(f"{100 * first[name, one] / foods[name]:.0f}" for one in ALLERGENS)] for name in sorted(foods)],
    )
    lines += ["## Generic foods by group", "", *graded("group", by_group, groups)]
    return "\n".join(lines)


if __name__ == "__main__":
    REPORT.write_text(report(), encoding="utf-8")
