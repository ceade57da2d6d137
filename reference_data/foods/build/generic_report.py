"""The report for people: what was taken, what was left out, and how plausible the values are.

Only counts, ids and names of shipped foods appear, so that no trade name stands in the report.
"""

from collections import Counter
from collections.abc import Sequence

import generic_checks as checks
from generic_archives import ARCHIVES
from generic_records import FNDDS, MEASURES, SR28, SourceFood
from generic_selection import Selection

EXAMPLES = 12


def table(head: Sequence[str], rows: Sequence[Sequence[object]]) -> list[str]:
    """A markdown table."""
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(str(cell).replace("|", "/") for cell in row) + " |" for row in rows]
    return [*lines, ""]


def listed(examples: Sequence[str]) -> list[str]:
    """The first examples as a list, and how many more there are."""
    lines = [f"- {example}" for example in examples[:EXAMPLES]]
    if len(examples) > EXAMPLES:
        lines.append(f"- and {len(examples) - EXAMPLES} more")
    return [*lines, ""] if lines else ["- none", ""]


def selection_part(source: Sequence[SourceFood], chosen: Selection) -> list[str]:
    """What was taken and left out."""
    of = Counter(food.edition for food in source)
    kept = Counter(food.edition for food in chosen.foods)
    portions = sum(len(food.portions) for food in source)
    kept_portions = sum(len(food.portions) for food in chosen.foods)
    return [
        "## Foods taken and left out",
        "",
        *table(
            ("edition", "foods in the source", "left out", "shipped"),
            [(edition, of[edition], of[edition] - kept[edition], kept[edition]) for edition in (SR28, FNDDS)],
        ),
        *table(
            ("edition", "why left out (first reason that applies)", "foods"),
            [(*key, count) for key, count in sorted(chosen.left_out.items(), key=lambda item: (item[0][0], -item[1]))],
        ),
        f"{chosen.reworded} shipped foods carry a name from which trade words were taken out. The rules and decisions",
        "are in `build/generic_selection.py` and `generic_name_decisions.toml`; the names that are shipped stand in",
        "`generic_allow_list.txt`. After the rules a scan for the words of makers and of capitalised trade names of",
        "both sources found none that is not an ordinary word; the scan stops the build otherwise.",
        "",
        f"Household measures (SR28 only): {portions} in the source, {kept_portions} shipped;"
        f" {chosen.measures_left_out} of shipped foods left out",
        f"and {chosen.measures_shortened} shortened because their words name a maker or another record.",
        "",
    ]


def coverage_part(source: Sequence[SourceFood], chosen: Selection) -> list[str]:
    """Missing and zero values per measure."""
    standard = [food for food in source if food.edition == SR28]
    kept = [food for food in chosen.foods if food.edition == SR28]
    survey = [food for food in chosen.foods if food.edition == FNDDS]
    columns = (
        checks.missing(standard),
        checks.missing(kept),
        checks.zeros(kept),
        checks.missing(survey),
        checks.zeros(survey),
    )
    return [
        "## Coverage",
        "",
        "A missing value is unknown and kept apart from a printed zero.",
        "",
        *table(
            (
                "measure",
                f"missing in all {len(standard)} of SR28",
                f"missing in {len(kept)} shipped of SR28",
                "zero there",
                f"missing in {len(survey)} shipped of FNDDS",
                "zero there",
            ),
            [(measure, *(column[measure] for column in columns)) for measure in MEASURES],
        ),
        "Water is not among the 31 nutrients of the survey rows. Added sugars, free sugars and non-milk extrinsic",
        "sugars are in neither source.",
        "",
    ]


def energy_part(source: Sequence[SourceFood], chosen: Selection) -> list[str]:
    """Energy against its parts."""
    standard = [food for food in source if food.edition == SR28]
    kept = [food for food in chosen.foods if food.edition == SR28]
    whole, shipped = checks.energy_by_specific_factors(standard), checks.energy_by_specific_factors(kept)
    lines = [
        "## Energy",
        "",
        "Protein, fat and carbohydrate times the food's own factors, plus 6.93 kcal per gram of alcohol, against the",
        "printed energy (nutrient 208): within 3 kcal or 2 %.",
        "",
        *table(
            ("part", "foods with three factors", "agree", "per cent"),
            [
                ("whole SR28", whole.of, whole.met, whole.per_cent),
                ("shipped", shipped.of, shipped.met, shipped.per_cent),
            ],
        ),
        "Shipped foods that do not agree (printed / computed kcal):",
        "",
        *listed(shipped.examples),
        "Foods without three factors: 4, 9 and 4 kcal per gram against the printed energy, within 5 kcal or 5 %, and",
        "the first reason that explains a larger difference.",
        "",
    ]
    parts = {
        "whole SR28": standard,
        "shipped SR28": kept,
        "whole FNDDS": [food for food in source if food.edition == FNDDS],
        "shipped FNDDS": [food for food in chosen.foods if food.edition == FNDDS],
    }
    found = {name: checks.energy_by_general_factors(foods) for name, foods in parts.items()}
    reasons = sorted({reason for counts, _ in found.values() for reason in counts})
    lines += table(("reason", *parts), [(reason, *(found[name][0][reason] for name in parts)) for reason in reasons])
    lines += ["Shipped foods that nothing explains (printed / computed kcal):", ""]
    lines += [f"- {text}" for name in ("shipped SR28", "shipped FNDDS") for text in found[name][1]]
    return [*lines, ""]


def parts_part(source: Sequence[SourceFood], chosen: Selection) -> list[str]:
    """Proximates, and parts above their wholes."""
    standard = [food for food in source if food.edition == SR28]
    kept = [food for food in chosen.foods if food.edition == SR28]
    whole, lacking = checks.proximates(standard)
    shipped, shipped_lacking = checks.proximates(kept)
    lines = [
        "## Parts and wholes",
        "",
        "Water, protein, fat, carbohydrate, ash and alcohol together, 97 to 103 g per 100 g (SR28 only):",
        "",
        *table(
            (
                "part",
                "foods",
                "one of the five not given",
                "within",
                "per cent of those given",
                "per cent of all foods",
            ),
            [
                (name, len(foods), gap, share.met, share.per_cent, checks.Share(share.met, len(foods)).per_cent)
                for name, foods, share, gap in (
                    ("whole SR28", standard, whole, lacking),
                    ("shipped", kept, shipped, shipped_lacking),
                )
            ],
        ),
        "Shipped foods furthest from 100 g:",
        "",
        *listed(shipped.examples),
    ]
    for part, of_what, allowed in (("sugars_g", "carbohydrate_g", 500), ("saturated_fat_g", "fat_g", 20)):
        rows = []
        examples: list[str] = []
        for edition in (SR28, FNDDS):
            foods = [food for food in chosen.foods if food.edition == edition]
            over = checks.part_over_whole(foods, part, of_what, 0)
            far = checks.part_over_whole(foods, part, of_what, allowed)
            rows.append((edition, len(over), len(far)))
            examples += far
        lines += [f"`{part}` above `{of_what}` in shipped foods:", ""]
        lines += table(("edition", "above at all", f"above by more than {allowed / 1000:g} g"), rows)
        lines += listed(examples)
    lines += [
        "Carbohydrate is computed by difference in both sources while sugars are measured: small excesses are theirs.",
        "Negative values: none; one would stop the build.",
        "",
    ]
    return lines


def units_part(source: Sequence[SourceFood]) -> list[str]:
    """Units of the survey columns, seen on well-known foods."""
    medians = checks.unit_ratios(source)
    return [
        "## Units",
        "",
        "SR28 prints its units (NUTR_DEF) and the wheel lists those of its columns (nutrients.csv); another unit stops",
        f"the build. As a second look, {len(checks.KNOWN_PAIRS)} well-known foods that stand in both editions, survey",
        "value over SR28 value. Pairs with a zero or missing value are not counted.",
        "",
        *table(
            ("measure", "median of the ratios", "pairs"),
            [(measure, f"{middle:.3f}", count) for measure, (middle, count) in medians.items()],
        ),
    ]


def doubles_part(chosen: Selection) -> list[str]:
    """Doubles of ids, names and values."""
    same = checks.doubles(chosen.foods)
    names = Counter(food.name.casefold() for food in chosen.foods)
    both = sum(1 for count in names.values() if count > 1)
    return [
        "## Doubles",
        "",
        "Ids and, within an edition, names are unique; a double stops the build.",
        f"{both} names stand in both editions (their values differ, and an id says its edition).",
        f"{len(same)} groups of foods of one edition ({sum(map(len, same))} foods) have the same value in every",
        "measure: the survey rows often give one recipe under several descriptions. They are kept, since their names",
        "differ.",
        "",
    ]


def report_text(source: Sequence[SourceFood], chosen: Selection) -> str:
    """The whole report."""
    lines = [
        "# Generic foods: how the table was made and checked",
        "",
        "Written by `build/build_generic_foods.py`; do not edit by hand. All values are per 100 g.",
        "",
        *table(
            ("source archive", "version", "sha256"),
            [(archive.package, archive.version, archive.sha256) for archive in ARCHIVES],
        ),
        *selection_part(source, chosen),
        *coverage_part(source, chosen),
        *energy_part(source, chosen),
        *parts_part(source, chosen),
        *units_part(source),
        *doubles_part(chosen),
        "## What may be wrong here",
        "",
        "- The values are of US foods of about 1976 to 2023, with US enrichment of flour and vitamin D in milk.",
        "- The names were read by one reader; a trade name that is also an ordinary word may have been missed.",
        "- Survey rows hold no food codes: if the agency changes a description, the food gets a new id.",
        "- The survey rows give a figure for every nutrient, also where the agency borrowed it from a like food.",
        "- Values that the checks above could not explain are shipped as printed.",
        "- Some SR28 soups are of a single brand that the source does not name.",
        "- Alcoholic drinks, offal and game are in the table: it is a composition table, not a list of what to pack.",
    ]
    return "\n".join(lines) + "\n"
