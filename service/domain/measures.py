"""What adds up over the items of a lunch, in whole parts of its unit.

A measure is a nutrient or a food-group credit. Every amount in the engine is a whole number of
parts (``SCALE``), so that sums do not depend on the order of the items. Rules about measures
live in the standards; this module only names them. A new measure is one entry here: what a label can say, what
the tables of foods give and what every answer shows are read from it.
"""

from typing import Literal, NamedTuple

SCALE = 100_000_000
"""Parts of a unit in which amounts of items, sums and bounds are whole numbers.

A table prints a figure to three places for 100 g, and an item weighs whole milligrams: an item of a food of the tables is
exact in these parts, and so is a sum of them. What a dish or a serving of another weight leaves is rounded to the nearest.
"""

THOUSANDTHS = 1000
"""What foods' figures for their weight are kept in, as the tables print them; quantities, portions and points too."""

PARTS_IN_A_THOUSANDTH = SCALE // THOUSANDTHS

MeasureKind = Literal["nutrient", "credit"]


class Measure(NamedTuple):
    """One measure: its id (with the unit in the name), plain label and unit.

    ``sr28``, ``fndds``: where the composition tables give it, the nutrient number of USDA SR28 (NUTR_DEF) and the
    column of the survey foods; empty: not in that table. ``on_labels``: a label food may give it.
    """

    id: str
    label: str
    unit: str
    kind: MeasureKind = "nutrient"
    sr28: str = ""
    fndds: str = ""
    on_labels: bool = True


MEASURES: tuple[Measure, ...] = (
    Measure("energy_kcal", "energy", "kcal", sr28="208", fndds="Energy"),
    Measure("protein_g", "protein", "g", sr28="203", fndds="Protein"),
    Measure("fat_g", "fat", "g", sr28="204", fndds="Total fat"),
    Measure("saturated_fat_g", "saturated fat", "g", sr28="606", fndds="Fatty acids, total saturated"),
    Measure("carbohydrate_g", "carbohydrate", "g", sr28="205", fndds="Carbohydrate"),
    Measure("sugars_g", "total sugars", "g", sr28="269", fndds="Total Sugars"),
    Measure("added_sugars_g", "added sugars", "g"),
    Measure("free_sugars_g", "free sugars", "g"),
    Measure("nmes_g", "non-milk extrinsic sugars", "g"),
    Measure("fibre_g", "fibre", "g", sr28="291", fndds="Fiber"),
    Measure("sodium_mg", "sodium", "mg", sr28="307", fndds="Sodium"),
    Measure("calcium_mg", "calcium", "mg", sr28="301", fndds="Calcium"),
    Measure("iron_mg", "iron", "mg", sr28="303", fndds="Iron"),
    Measure("magnesium_mg", "magnesium", "mg", sr28="304", fndds="Magnesium"),
    Measure("phosphorus_mg", "phosphorus", "mg", sr28="305", fndds="Phosphorus"),
    Measure("potassium_mg", "potassium", "mg", sr28="306", fndds="Potassium"),
    Measure("zinc_mg", "zinc", "mg", sr28="309", fndds="Zinc"),
    Measure("vitamin_a_rae_ug", "vitamin A", "µg RAE", sr28="320", fndds="Vitamin A, RAE"),
    Measure("vitamin_c_mg", "vitamin C", "mg", sr28="401", fndds="Vitamin C"),
    Measure("vitamin_d_ug", "vitamin D", "µg", sr28="328", fndds="Vitamin D (D2 + D3)"),
    Measure("thiamin_mg", "thiamin (vitamin B1)", "mg", sr28="404", fndds="Thiamin"),
    Measure("riboflavin_mg", "riboflavin (vitamin B2)", "mg", sr28="405", fndds="Riboflavin"),
    Measure("niacin_mg", "niacin", "mg", sr28="406", fndds="Niacin"),
    Measure("vitamin_b12_ug", "vitamin B12", "µg", sr28="418", fndds="Vitamin B-12"),
    Measure("folate_ug", "folate", "µg", sr28="417", fndds="Folate, total"),
    Measure("cholesterol_mg", "cholesterol", "mg", sr28="601", fndds="Cholesterol"),
    Measure("water_g", "water", "g", sr28="255"),
    Measure("fluid_milk_saturated_fat_g", "saturated fat of fluid milk", "g", on_labels=False),
    Measure("fluid_milk_cup", "fluid milk", "cup", "credit"),
    Measure("meat_alternate_oz_eq", "meats and meat alternates", "oz eq", "credit"),
    Measure("grain_oz_eq", "grains", "oz eq", "credit"),
    Measure("whole_grain_rich_oz_eq", "whole-grain-rich grains", "oz eq", "credit"),
    Measure("grain_dessert_oz_eq", "grain-based desserts", "oz eq", "credit"),
    Measure("sweet_cracker_oz_eq", "graham and animal crackers", "oz eq", "credit"),
    Measure("fruit_cup", "fruit", "cup", "credit"),
    Measure("fruit_juice_cup", "fruit juice", "cup", "credit"),
    Measure("vegetable_cup", "vegetables", "cup", "credit"),
    Measure("vegetable_dark_green_cup", "dark-green vegetables", "cup", "credit"),
    Measure("vegetable_red_orange_cup", "red and orange vegetables", "cup", "credit"),
    Measure("vegetable_legume_cup", "beans, peas and lentils", "cup", "credit"),
    Measure("vegetable_starchy_cup", "starchy vegetables", "cup", "credit"),
    Measure("vegetable_other_cup", "other vegetables", "cup", "credit"),
    Measure("vegetable_juice_cup", "vegetable juice", "cup", "credit"),
)

MEASURE_COUNT = len(MEASURES)
MEASURE_INDEX: dict[str, int] = {measure.id: index for index, measure in enumerate(MEASURES)}
ENERGY = MEASURE_INDEX["energy_kcal"]
SATURATED = MEASURE_INDEX["saturated_fat_g"]
MILK_SATURATED = MEASURE_INDEX["fluid_milk_saturated_fat_g"]
NUTRIENT_COUNT = sum(1 for measure in MEASURES if measure.kind == "nutrient")
"""Nutrients come first in ``MEASURES``; the credits follow."""

NUTRIENT_IDS: tuple[str, ...] = tuple(measure.id for measure in MEASURES[:NUTRIENT_COUNT])
CREDIT_IDS: tuple[str, ...] = tuple(measure.id for measure in MEASURES[NUTRIENT_COUNT:])

LABEL_MEASURES: tuple[Measure, ...] = tuple(measure for measure in MEASURES[:NUTRIENT_COUNT] if measure.on_labels)
"""What a label may print. The fat of fluid milk is that of the food, so no label gives it."""

TABLE_MEASURES: tuple[Measure, ...] = tuple(measure for measure in MEASURES if measure.sr28 or measure.fndds)
"""What a composition table gives; added, free and non-milk extrinsic sugars are in none."""
