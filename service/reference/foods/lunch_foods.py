"""The lunch foods: one row a food in lunch_foods.csv, its values from the generic food behind it.

Rows are read once; a food is built when first asked for, so that starting stays fast.
"""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import lru_cache

from service.domain.errors import ReferenceFault
from service.domain.foods.crediting import credits_from_grams_per_unit, merge_credits
from service.domain.foods.food import (
    AllergenProfile,
    Containment,
    Credit,
    CreditOption,
    Figure,
    Food,
    Handling,
    HouseholdUnit,
    PartlyKnown,
    whole_if_so,
)
from service.domain.measures import MEASURE_INDEX, MILK_SATURATED, NUTRIENT_COUNT, SATURATED, THOUSANDTHS
from service.domain.messages import message
from service.reference.allergens.evidence import likened_lunch_food, with_unusual
from service.reference.allergens.vocabulary import vocabulary
from service.reference.files import data_path
from service.reference.foods.components import components
from service.reference.foods.discretionary import is_discretionary_lunch_food
from service.reference.foods.generic_foods import generic_foods

BASIS_MG = 100_000
ADDED = MEASURE_INDEX["added_sugars_g"]
FREE = MEASURE_INDEX["free_sugars_g"]
NMES = MEASURE_INDEX["nmes_g"]
SUGARS = MEASURE_INDEX["sugars_g"]
WHERE = "foods/lunch_foods.csv"

READ_LABEL = Containment("unknown", "read_label", message("evidence.recipes-vary"))

ADDED_SUGAR_METHODS = {
    "zero_none_added": "estimated: none added by the nature of the food",
    "all_sugars": "estimated: all sugars of this kind of food are added",
    "difference_to_unsweetened": "estimated: difference to the unsweetened twin",
    "share_of_ingredients": "estimated: from the usual ingredients",
    "label": "stated on labels of this kind of food",
    "unknown": "unknown",
}


@dataclass(frozen=True, slots=True)
class LunchFoodRow:
    """One row of the table as text, with its line number for messages."""

    line: int
    cells: Mapping[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells[column]

    def words(self, column: str) -> list[str]:
        """The parts of a list cell."""
        return [part.strip() for part in self.cells[column].split(";") if part.strip()]

    def fault(self, column: str, problem: str, remedy: str) -> ReferenceFault:
        """A fault of one cell."""
        return ReferenceFault(
            pointer=f"{WHERE}#/{self.cells.get('id', '')}/{column} (line {self.line})",
            value=self.cells.get(column, ""),
            problem=problem,
            remedy=remedy,
        )


class LunchFoodTable:
    """All lunch foods by id; each is built when first asked for."""

    def __init__(self, rows: Mapping[str, LunchFoodRow]) -> None:
        self._rows = rows
        self._foods: dict[str, Food] = {}

    def get(self, food_id: str) -> Food | None:
        """The food of that id, or None."""
        food = self._foods.get(food_id)
        if food is None and food_id in self._rows:
            food = self._foods[food_id] = lunch_food_from_row(self._rows[food_id])
        return food

    def rows(self) -> Mapping[str, LunchFoodRow]:
        """The rows as text, in file order."""
        return self._rows

    def __iter__(self) -> Iterator[Food]:
        for food_id in self._rows:
            food = self.get(food_id)
            if food is not None:
                yield food

    def __len__(self) -> int:
        return len(self._rows)


@lru_cache(maxsize=1)
def lunch_foods() -> LunchFoodTable:
    """The table of lunch foods."""
    rows: dict[str, LunchFoodRow] = {}
    with data_path(WHERE).open(encoding="utf-8") as file:
        reader = csv.DictReader(file, strict=True)
        for cells in reader:
            row = LunchFoodRow(reader.line_num, cells)
            if None in cells or None in cells.values():
                raise row.fault("id", "is a row with too many or too few cells", "Give one cell for each column.")
            if row["id"] in rows:
                raise row.fault("id", "appears twice", "Give each food a different id.")
            rows[row["id"]] = row
    return LunchFoodTable(rows)


def composed_of(food_id: str) -> str | None:
    """The one food of the composition tables that a lunch food has its figures from; None for a mixture, and for any other food.

    >>> composed_of("sugar-white"), composed_of("sr28-19335")
    ('sr28-19335', None)
    """
    row = lunch_foods().rows().get(food_id)
    if row is None or "=" in row["composition"]:
        return None
    return row["composition"].strip() or None


@lru_cache(maxsize=4096)
def salted_kind(food_id: str) -> Food | None:
    """A lunch food cooked in salted water, under the id of the same food cooked without salt; None if there are not both."""
    plain, salted = lunch_foods().get(food_id), lunch_foods().get(f"{food_id}-salted")
    return None if plain is None or salted is None else replace(salted, id=food_id, everyday=plain.everyday)


@lru_cache(maxsize=1)
def product_kinds() -> frozenset[str]:
    """The kinds of product that rules on single products speak of, as the lunch foods name them."""
    return frozenset(row["product_kind"] for row in lunch_foods().rows().values() if row["product_kind"])


def lunch_food_from_row(row: LunchFoodRow) -> Food:
    """Build a lunch food; ``ReferenceFault`` names the cell that is wrong."""
    nutrients, partly, source, editions = _composition(row)
    estimated: dict[int, str] = {}
    _sugars(row, nutrients, estimated)
    nutrients[MILK_SATURATED] = nutrients[SATURATED] if "fluid_milk" in row["credits"] else 0
    units = units_of(row)
    return Food(
        id=row["id"],
        name=row["name"],
        kind="lunch_food",
        basis_mg=BASIS_MG,
        nutrients=tuple(nutrients),
        source=source,
        partly=partly,
        estimated=estimated,
        credit_options=_credits(row),
        units=units,
        allergens=_allergens(row),
        handling=Handling(
            forms=tuple(row.words("forms")),
            choking_rule=row["choking_rule"],
            perishable={"yes": True, "no": False}.get(row["perishable"]),
            storage=row["storage"],
            freezing=row["freezing"],
        ),
        category=row["category"],
        product_kind=row["product_kind"],
        editions=editions,
        search_words=tuple(row.words("search_words")),
        note=row["note"],
        everyday=row["everyday"] == "yes",
        discretionary=is_discretionary_lunch_food(row["id"], row["category"]),
    )


def _decimal(row: LunchFoodRow, column: str, text: str) -> Decimal:
    try:
        value = Decimal(text)
    except InvalidOperation as fault:
        raise row.fault(column, f"holds {text!r}, which is not a number", "Write a plain decimal number.") from fault
    if not value.is_finite() or value < 0:
        raise row.fault(column, f"holds {text!r}, which is not an amount", "Write a number of 0 or more.")
    return value


def _pairs(row: LunchFoodRow, column: str, text: str) -> list[tuple[str, Decimal]]:
    """``name=number`` parts of a cell."""
    pairs = []
    for part in text.split(";"):
        if not part.strip():
            continue
        name, equals, number = part.rpartition("=")
        if not equals:
            raise row.fault(column, f"holds {part.strip()!r} without '='", "Write name=number.")
        pairs.append((name.strip(), _decimal(row, column, number.strip())))
    return pairs


def _composition(row: LunchFoodRow) -> tuple[list[Figure | None], dict[int, PartlyKnown], str, frozenset[str]]:
    text = row["composition"]
    parts = _pairs(row, "composition", text) if "=" in text else [(text.strip(), Decimal(100))]
    table = generic_foods()
    total = sum((grams for _food, grams in parts), Decimal(0))
    sums: list[Figure] = [0] * NUTRIENT_COUNT
    missing: set[int] = set()
    editions = set()
    for food_id, grams in parts:
        generic = table.get(food_id)
        if generic is None:
            raise row.fault("composition", f"names {food_id}, which is not a generic food", "Give an id of the table.")
        editions.add(generic.edition)
        share = Fraction(grams) / Fraction(total) if len(parts) > 1 else 1
        for measure, value in enumerate(generic.values):
            sums[measure] += (value or 0) * share
            if value is None:
                missing.add(measure)
    if len(editions) != 1:
        raise row.fault("composition", "mixes editions", "Take all parts from one edition.")
    nutrients = [None if measure in missing else value for measure, value in enumerate(sums)]
    # One part without a figure makes it unknown, but the food holds what its other parts hold.
    partly = {measure: PartlyKnown(sums[measure], sums[measure], None) for measure in missing if sums[measure]}
    edition = next(iter(editions))
    shown = ", ".join(food_id if len(parts) == 1 else f"{grams} g {food_id}" for food_id, grams in parts)
    note = row["composition_note"]
    return nutrients, partly, f"{edition}: {shown}" + (f" ({note})" if note else ""), frozenset(editions)


def _sugars(row: LunchFoodRow, nutrients: list[Figure | None], estimated: dict[int, str]) -> None:
    """Added, free and non-milk extrinsic sugars, each marked with how it was estimated."""
    method = row["added_sugars_method"]
    if method not in ADDED_SUGAR_METHODS:
        known = ", ".join(ADDED_SUGAR_METHODS)
        raise row.fault("added_sugars_method", "is not a known method", f"Give one of: {known}.")
    text = row["added_sugars_g_per_100g"]
    added: Figure | None = None if text == "" else int(_decimal(row, "added_sugars_g_per_100g", text) * THOUSANDTHS)
    if (added is None) != (method == "unknown"):
        raise row.fault("added_sugars_g_per_100g", "does not go with the method", "Give a number, or method unknown.")
    sugars = nutrients[SUGARS]
    if added is not None and sugars is not None:
        added = min(added, sugars)
    nutrients[ADDED] = added
    estimated[ADDED] = ADDED_SUGAR_METHODS[method]
    natural = None if added is None or sugars is None else sugars - added
    kind = row["fruit_sugars"]
    free_part = {"none": Fraction(0), "juice": Fraction(1), "preserved": Fraction(0)}.get(kind)
    nmes_part = {"none": Fraction(0), "juice": Fraction(1), "preserved": Fraction(1, 2)}.get(kind)
    if free_part is None or nmes_part is None:
        raise row.fault("fruit_sugars", "is not none, juice or preserved", "Give one of the three.")
    for measure, part in ((FREE, free_part), (NMES, nmes_part)):
        if added is None or (part and natural is None):
            nutrients[measure] = None
        else:
            nutrients[measure] = whole_if_so(Fraction(added + (natural or 0) * part))
        estimated[measure] = "estimated from added sugars and the kind of food"


def units_of(row: LunchFoodRow) -> tuple[HouseholdUnit, ...]:
    """The household units of a row, the usual portion first; ``ReferenceFault`` where there is none."""
    units = tuple(
        HouseholdUnit(name, int(grams * 1000), row["portions_source"])
        for name, grams in _pairs(row, "portions", row["portions"])
    )
    if not units or any(unit.grams_mg <= 0 or unit.name == "g" for unit in units):
        raise row.fault("portions", "gives no usable portion", "Write the usual portion first, e.g. slice=32.")
    return units


def _credits(row: LunchFoodRow) -> tuple[CreditOption, ...]:
    options = []
    for text in row["credits"].split("|"):
        if not text.strip():
            continue
        credits: list[Credit] = []
        pairs = _pairs(row, "credits", text)
        for component, grams in pairs:
            if component not in components():
                known = ", ".join(components())
                raise row.fault("credits", f"names {component}, which is not a component", f"Give one of: {known}.")
            credits.extend(credits_from_grams_per_unit(components()[component], int(grams * 1000), BASIS_MG))
        options.append(CreditOption(pairs[0][0].removesuffix("_legume"), merge_credits(tuple(credits))))
    return tuple(options)


def _allergens(row: LunchFoodRow) -> AllergenProfile:
    basis = row["allergen_basis"]
    if basis not in ("nature", "usual_recipe"):
        raise row.fault("allergen_basis", "is not nature or usual_recipe", "Give one of the two.")
    by_nature = basis == "nature"
    named: dict[str, Containment] = {}
    for allergen in row.words("free_of"):
        named[allergen] = Containment("free", "nature", message("evidence.nature"))
    for allergen in row.words("may_contain"):
        named[allergen] = Containment("may_contain", "usual_recipe", message("evidence.common-warning"))
    for allergen in row.words("read_label"):
        named[allergen] = READ_LABEL
    for allergen in row.words("contains"):
        named[allergen] = (
            Containment("contains", "nature", message("evidence.nature"))
            if by_nature
            else Containment("contains", "usual_recipe", message("evidence.usual-recipe"))
        )
    if row["others"] == "free":
        others = Containment("free", "nature", message("evidence.nothing-added"))
    elif row["others"] == "unknown":
        others = READ_LABEL
    else:
        raise row.fault("others", "is not free or unknown", "Give free only for a single food with nothing added.")
    if others is READ_LABEL:
        with_unusual(named, likened_lunch_food(row["id"], row["category"]), vocabulary().members)
    return AllergenProfile(named, others)
