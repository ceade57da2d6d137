"""What adds up over the items of a lunch, in whole thousandths of its unit.

A measure is a nutrient or a food-group credit. Every amount in the engine is a whole number of
thousandths (``SCALE``), so that sums do not depend on the order of the items. Rules about measures
live in the standards; this module only names them.
"""

from typing import Literal, NamedTuple

SCALE = 1000

MeasureKind = Literal["nutrient", "credit"]


class Measure(NamedTuple):
    """One measure: its id (with the unit in the name), plain label and unit."""

    id: str
    label: str
    unit: str
    kind: MeasureKind = "nutrient"


MEASURES: tuple[Measure, ...] = (
    Measure("energy_kcal", "energy", "kcal"),
    Measure("protein_g", "protein", "g"),
    Measure("fat_g", "fat", "g"),
    Measure("saturated_fat_g", "saturated fat", "g"),
    Measure("carbohydrate_g", "carbohydrate", "g"),
    Measure("sugars_g", "total sugars", "g"),
    Measure("added_sugars_g", "added sugars", "g"),
    Measure("free_sugars_g", "free sugars", "g"),
    Measure("nmes_g", "non-milk extrinsic sugars", "g"),
    Measure("fibre_g", "fibre", "g"),
    Measure("sodium_mg", "sodium", "mg"),
    Measure("calcium_mg", "calcium", "mg"),
    Measure("iron_mg", "iron", "mg"),
    Measure("magnesium_mg", "magnesium", "mg"),
    Measure("phosphorus_mg", "phosphorus", "mg"),
    Measure("potassium_mg", "potassium", "mg"),
    Measure("zinc_mg", "zinc", "mg"),
    Measure("vitamin_a_rae_ug", "vitamin A", "µg RAE"),
    Measure("vitamin_c_mg", "vitamin C", "mg"),
    Measure("vitamin_d_ug", "vitamin D", "µg"),
    Measure("thiamin_mg", "thiamin (vitamin B1)", "mg"),
    Measure("riboflavin_mg", "riboflavin (vitamin B2)", "mg"),
    Measure("niacin_mg", "niacin", "mg"),
    Measure("vitamin_b12_ug", "vitamin B12", "µg"),
    Measure("folate_ug", "folate", "µg"),
    Measure("cholesterol_mg", "cholesterol", "mg"),
    Measure("water_g", "water", "g"),
    Measure("fluid_milk_saturated_fat_g", "saturated fat of fluid milk", "g"),
    Measure("fluid_milk_cup", "fluid milk", "cup", "credit"),
    Measure("meat_alternate_oz_eq", "meats and meat alternates", "oz eq", "credit"),
    Measure("grain_oz_eq", "grains", "oz eq", "credit"),
    Measure("whole_grain_rich_oz_eq", "whole-grain-rich grains", "oz eq", "credit"),
    Measure("grain_dessert_oz_eq", "grain-based desserts", "oz eq", "credit"),
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
NUTRIENT_COUNT = sum(1 for measure in MEASURES if measure.kind == "nutrient")
"""Nutrients come first in ``MEASURES``; the credits follow."""

NUTRIENT_IDS: tuple[str, ...] = tuple(measure.id for measure in MEASURES[:NUTRIENT_COUNT])
CREDIT_IDS: tuple[str, ...] = tuple(measure.id for measure in MEASURES[NUTRIENT_COUNT:])
