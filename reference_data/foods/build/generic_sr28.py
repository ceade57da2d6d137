"""Reads the USDA National Nutrient Database for Standard Reference, release 28, from its text files.

Format (USDA SR28 documentation, "Format of Files"): ``^`` between fields, ``~`` around text fields,
ISO 8859-1. Nutrients are known by their number (``Nutr_No``); the unit printed in NUTR_DEF must be
the one expected, and energy is 208 (kcal), never 268 (kJ).
"""

from collections.abc import Mapping
from decimal import Decimal

from generic_records import SR28, BuildError, EnergyFactors, Portion, SourceFood, one_space, thousandths

from service.domain.measures import TABLE_MEASURES

FILES = ("FOOD_DES.txt", "FD_GROUP.txt", "NUTR_DEF.txt", "NUT_DATA.txt", "WEIGHT.txt")
FIELD_COUNTS = {"FOOD_DES.txt": 14, "FD_GROUP.txt": 2, "NUTR_DEF.txt": 6, "NUT_DATA.txt": 18, "WEIGHT.txt": 7}

NUTRIENTS: Mapping[str, tuple[str, str]] = {
    **{measure.sr28: (measure.id, measure.unit.split()[0]) for measure in TABLE_MEASURES if measure.sr28},
    "207": ("ash_g", "g"),
    "221": ("alcohol_g", "g"),
}
"""Nutrient number -> (measure, unit printed in NUTR_DEF); ash and alcohol serve the checks only."""


def rows_of(text: str, name: str) -> list[list[str]]:
    """The rows of one file as fields without their ``~``; refuses a row with another number of fields."""
    rows = [[field.strip("~") for field in line.split("^")] for line in text.splitlines() if line]
    wanted = FIELD_COUNTS[name]
    for number, row in enumerate(rows, start=1):
        if len(row) != wanted:
            raise BuildError(f"{name} line {number}: {len(row)} fields, not {wanted}. Wrong file or edition?")
    return rows


def check_units(rows: list[list[str]]) -> None:
    """Refuse a NUTR_DEF that lacks a nutrient or prints another unit than expected."""
    units = {row[0]: row[1] for row in rows}
    for number, (measure, unit) in NUTRIENTS.items():
        if units.get(number) != unit:
            found = units.get(number)
            raise BuildError(f"NUTR_DEF.txt: nutrient {number} ({measure}) has unit {found!r}, not {unit!r}.")


def plain_amount(text: str) -> str:
    """The printed amount with its leading zero: ``.5`` becomes ``0.5``; nothing is rounded."""
    number = Decimal(text)
    if not number.is_finite() or number <= 0:
        raise BuildError(f"WEIGHT.txt: amount {text!r} is not above zero.")
    plain = format(number, "f")
    return plain.rstrip("0").rstrip(".") if "." in plain else plain


def read_factors(row: list[str]) -> EnergyFactors | None:
    """The food's specific energy factors, where all three are given."""
    if not (row[11] and row[12] and row[13]):
        return None
    return EnergyFactors(Decimal(row[11]), Decimal(row[12]), Decimal(row[13]))


def read_sr28(texts: Mapping[str, str]) -> list[SourceFood]:
    """All foods of the edition, in the order of their NDB numbers.

    ``texts``: file name -> whole text. Raises ``BuildError`` for anything that is not as documented.
    """
    check_units(rows_of(texts["NUTR_DEF.txt"], "NUTR_DEF.txt"))
    groups = {row[0]: row[1] for row in rows_of(texts["FD_GROUP.txt"], "FD_GROUP.txt")}
    descriptions = rows_of(texts["FOOD_DES.txt"], "FOOD_DES.txt")
    values: dict[str, dict[str, int]] = {row[0]: {} for row in descriptions}
    if len(values) != len(descriptions):
        raise BuildError("FOOD_DES.txt: an NDB number appears twice.")
    for row in rows_of(texts["NUT_DATA.txt"], "NUT_DATA.txt"):
        known = NUTRIENTS.get(row[1])
        if known is None:
            continue
        if row[0] not in values or known[0] in values[row[0]]:
            raise BuildError(f"NUT_DATA.txt: food {row[0]} nutrient {row[1]} has no food or appears twice.")
        values[row[0]][known[0]] = thousandths(row[2], f"NUT_DATA.txt food {row[0]} nutrient {row[1]}")
    portions: dict[str, list[Portion]] = {row[0]: [] for row in descriptions}
    for row in rows_of(texts["WEIGHT.txt"], "WEIGHT.txt"):
        grams_mg = thousandths(row[4], f"WEIGHT.txt food {row[0]} measure {row[1]}")
        if row[0] not in portions or grams_mg == 0:
            raise BuildError(f"WEIGHT.txt: food {row[0]} measure {row[1]} has no food or no weight.")
        portions[row[0]].append(Portion(row[1], plain_amount(row[2]), one_space(row[3]), grams_mg))
    foods = []
    for row in sorted(descriptions):
        if row[1] not in groups:
            raise BuildError(f"FOOD_DES.txt: food {row[0]} is in group {row[1]!r}, which FD_GROUP.txt does not have.")
        own = values[row[0]]
        foods.append(
            SourceFood(
                id=f"sr28-{row[0]}",
                name=one_space(row[2]),
                edition=SR28,
                group=groups[row[1]],
                group_code=row[1],
                manufacturer=row[5],
                ash=own.pop("ash_g", None),
                alcohol=own.pop("alcohol_g", None),
                values=own,
                factors=read_factors(row),
                portions=tuple(portions[row[0]]),
            )
        )
    return foods
