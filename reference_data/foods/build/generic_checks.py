"""Plausibility of the values: energy, proximates, parts against wholes, units, coverage, doubles.

Each check counts; only what cannot be true (a unit that is off by a factor, an energy rule that the
source no longer meets) stops the build with ``BuildError``. Factors and where they come from are named
beside them; all amounts are thousandths per 100 g.
"""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from generic_records import FNDDS, MEASURES, SCALE, SR28, BuildError, SourceFood

KCAL_PER_G_ALCOHOL = Decimal("6.93")
"""USDA Agriculture Handbook 74 (Merrill and Watt), factor for ethyl alcohol; from memory."""
GENERAL_FACTORS = (Decimal(4), Decimal(9), Decimal(4))
"""Kilocalories per gram of protein, fat and carbohydrate: the general (Atwater) factors."""
SPECIFIC_FACTORS_LOW = (Decimal("2.44"), Decimal("8.37"), Decimal("2.70"))
SPECIFIC_FACTORS_HIGH = (Decimal("4.36"), Decimal("9.02"), Decimal("4.16"))
"""Lowest and highest usual specific factors (vegetables, lemons; eggs, cereals) in Handbook 74; from memory."""

LOW_ENERGY_WORDS = re.compile(
    r"sugar[ -]?free|sugarless|no sugar|sorbitol|dietetic|low[ -]calorie|low carb|\bdiet\b|sugar substitute|olestra"
    r"|sucralose|aspartame|saccharin|sweeteners|fructose|sugar alcohol|reduced sugar",
    re.IGNORECASE,
)
DRINKS_WITH_ALCOHOL = re.compile(r"^(Beer|Wine|Liquor and cocktails)$")

ENERGY_SHARE_EXPECTED = Decimal("99.4")
"""Per cent of foods with specific factors that must agree; the whole source gives 99.47."""

KNOWN_PAIRS: tuple[tuple[str, str], ...] = (
    ("Milk, whole", "sr28-01077"),
    ("Milk, reduced fat (2%)", "sr28-01079"),
    ("Bread, white", "sr28-18069"),
    ("Bread, whole wheat", "sr28-18075"),
    ("Cheese, Cheddar", "sr28-01009"),
    ("Egg, whole, raw", "sr28-01123"),
    ("Apple, raw", "sr28-09003"),
    ("Banana, raw", "sr28-09040"),
    ("Orange, raw", "sr28-09200"),
    ("Carrots, raw", "sr28-11124"),
    ("Broccoli, raw", "sr28-11090"),
    ("Spinach, raw", "sr28-11457"),
    ("Peanut butter", "sr28-16098"),
    ("Almonds, unroasted", "sr28-12061"),
    ("Oats, raw", "sr28-20038"),
    ("Fish, salmon, raw", "sr28-15236"),
    ("Fish, tuna, canned", "sr28-15121"),
    ("Hummus, plain", "sr28-16158"),
    ("Liver, beef", "sr28-13326"),
    ("Honey", "sr28-19296"),
)
"""The same food in both editions, by survey description and SR28 id; used to see that the units agree."""


@dataclass(frozen=True, slots=True)
class Share:
    """How many of how many foods meet a check, and examples that do not."""

    met: int
    of: int
    examples: tuple[str, ...] = ()

    @property
    def per_cent(self) -> str:
        """The share with two decimals, or a dash for no foods."""
        return f"{Decimal(100 * self.met) / self.of:.2f}" if self.of else "-"


def kcal(food: SourceFood, factors: tuple[Decimal, Decimal, Decimal], *, alcohol: bool) -> Decimal:
    """Energy in kcal per 100 g from protein, fat and carbohydrate, with or without the alcohol."""
    parts = ("protein_g", "fat_g", "carbohydrate_g")
    total = sum((factor * food.values[part] for factor, part in zip(factors, parts, strict=True)), Decimal(0))
    if alcohol:
        total += KCAL_PER_G_ALCOHOL * (food.alcohol or 0)
    return total / SCALE


def printed_kcal(food: SourceFood) -> Decimal:
    """The energy that the source prints, kcal per 100 g."""
    return Decimal(food.values["energy_kcal"]) / SCALE


def near(found: Decimal, printed: Decimal, kcal_off: int, per_cent_off: int) -> bool:
    """Whether two energies differ by no more than so many kcal or per cent of the printed one."""
    off = abs(found - printed)
    return off <= kcal_off or off <= printed * per_cent_off / 100


def beside_printed(food: SourceFood, found: Decimal) -> tuple[Decimal, str]:
    """A line of a report with printed and computed energy, after a number that sorts the worst first."""
    return -abs(found - printed_kcal(food)), f"{food.id} {food.name}: {printed_kcal(food)} / {found:.1f}"


def energy_by_specific_factors(foods: Iterable[SourceFood]) -> Share:
    """Foods whose energy follows from their own three factors within 3 kcal or 2 %."""
    met = of = 0
    worst = []
    for food in foods:
        if food.factors is None:
            continue
        of += 1
        own = (food.factors.protein, food.factors.fat, food.factors.carbohydrate)
        found = kcal(food, own, alcohol=True)
        if near(found, printed_kcal(food), 3, 2):
            met += 1
        else:
            worst.append(beside_printed(food, found))
    return Share(met, of, tuple(text for _, text in sorted(worst)))


def energy_reason(food: SourceFood) -> str:
    """Why a food's energy is or is not 4/9/4 of its parts within 5 kcal or 5 %."""
    printed = printed_kcal(food)
    plain = kcal(food, GENERAL_FACTORS, alcohol=False)
    if near(plain, printed, 5, 5):
        return "agrees"
    if food.alcohol and near(kcal(food, GENERAL_FACTORS, alcohol=True), printed, 5, 5):
        return "alcohol"
    if food.edition == FNDDS and DRINKS_WITH_ALCOHOL.match(food.group) and printed > plain:
        return "alcohol (not in the source)"
    fibre_kcal = Decimal(4 * food.values.get("fibre_g", 0)) / SCALE
    if printed <= plain and (near(plain - fibre_kcal, printed, 5, 5) or printed >= plain - fibre_kcal):
        return "fibre counted as less than 4 kcal/g"
    if LOW_ENERGY_WORDS.search(food.name) and printed <= plain:
        return "polyols and other sweeteners or fats of low energy"
    low = kcal(food, SPECIFIC_FACTORS_LOW, alcohol=True)
    high = kcal(food, SPECIFIC_FACTORS_HIGH, alcohol=True)
    if low - 5 <= printed <= high + 5:
        return "within the range of specific factors"
    return "not explained"


def energy_by_general_factors(foods: Iterable[SourceFood]) -> tuple[Counter[str], tuple[str, ...]]:
    """Foods without specific factors by the reason of the difference, and those that nothing explains."""
    reasons: Counter[str] = Counter()
    unexplained = []
    for food in foods:
        if food.factors is not None:
            continue
        reason = energy_reason(food)
        reasons[reason] += 1
        if reason == "not explained":
            unexplained.append(beside_printed(food, kcal(food, GENERAL_FACTORS, alcohol=True)))
    return reasons, tuple(text for _, text in sorted(unexplained))


def proximates(foods: Iterable[SourceFood]) -> tuple[Share, int]:
    """Foods with water, protein, fat, carbohydrate, ash and alcohol within 97 to 103 g; and how many lack one."""
    met = of = lacking = 0
    outside = []
    for food in foods:
        parts = [food.values.get(part) for part in ("water_g", "protein_g", "fat_g", "carbohydrate_g")]
        known = [part for part in [*parts, food.ash] if part is not None]
        if len(known) < 5:
            lacking += 1
            continue
        of += 1
        total = sum(known) + (food.alcohol or 0)
        if 97 * SCALE <= total <= 103 * SCALE:
            met += 1
        else:
            far = abs(total - 100 * SCALE)
            outside.append((-far, f"{food.id} {food.name}: {Decimal(total) / SCALE} g"))
    return Share(met, of, tuple(text for _, text in sorted(outside))), lacking


def part_over_whole(foods: Iterable[SourceFood], part: str, whole: str, allowed: int) -> tuple[str, ...]:
    """Foods in which a part is more than its whole by more than ``allowed`` thousandths."""
    over = []
    for food in foods:
        if part in food.values and whole in food.values and food.values[part] > food.values[whole] + allowed:
            excess = food.values[part] - food.values[whole]
            over.append((-excess, f"{food.id} {food.name}: {Decimal(excess) / SCALE} g over"))
    return tuple(text for _, text in sorted(over))


def missing(foods: Sequence[SourceFood]) -> dict[str, int]:
    """How many foods lack each measure."""
    return {measure: sum(1 for food in foods if measure not in food.values) for measure in MEASURES}


def zeros(foods: Sequence[SourceFood]) -> dict[str, int]:
    """How many foods have a printed zero for each measure."""
    return {measure: sum(1 for food in foods if food.values.get(measure) == 0) for measure in MEASURES}


def unit_ratios(foods: Sequence[SourceFood]) -> dict[str, tuple[Decimal, int]]:
    """Median of survey value over SR28 value on well-known foods, per measure, and the number of pairs.

    Raises ``BuildError`` if a pair is not there, or if a median lies outside 0.5 to 2: a wrong unit is
    off by 4.184 or by thousands.
    """
    survey = {food.name: food for food in foods if food.edition == FNDDS}
    standard = {food.id: food for food in foods if food.edition == SR28}
    absent = [pair for pair in KNOWN_PAIRS if pair[0] not in survey or pair[1] not in standard]
    if absent:
        raise BuildError(f"well-known foods {absent} are not in the sources.")
    medians = {}
    for measure in MEASURES:
        ratios = []
        for name, key in KNOWN_PAIRS:
            above = survey[name].values.get(measure)
            below = standard[key].values.get(measure)
            if above and below:
                ratios.append(Decimal(above) / Decimal(below))
        if not ratios:
            continue
        middle = median(ratios)
        if not Decimal("0.5") <= middle <= 2:
            raise BuildError(f"{measure}: survey values are {middle:.3f} times SR28 values on known foods. Wrong unit?")
        medians[measure] = (middle, len(ratios))
    return medians


def doubles(foods: Iterable[SourceFood]) -> list[tuple[str, ...]]:
    """Groups of foods of one edition whose values are the same in every measure."""
    same: dict[tuple[object, ...], list[str]] = {}
    for food in foods:
        row = (food.edition, *(food.values.get(measure) for measure in MEASURES))
        same.setdefault(row, []).append(food.id)
    return sorted(tuple(ids) for ids in same.values() if len(ids) > 1)


def check_energy_share(share: Share) -> None:
    """Refuse a source in which the specific factors no longer give the printed energy."""
    if not share.of or Decimal(100 * share.met) / share.of < ENERGY_SHARE_EXPECTED:
        raise BuildError(f"energy follows from the specific factors in {share.per_cent} % of {share.of} foods only.")
