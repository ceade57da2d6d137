"""Which figures of a label are asked for first, and in which other units."""

from service.jobs.requests.foods import NutritionFacts

USUAL_FIGURES = (
    "energy_kcal",
    "fat_g",
    "saturated_fat_g",
    "carbohydrate_g",
    "sugars_g",
    "added_sugars_g",
    "fibre_g",
    "protein_g",
    "sodium_mg",
    "calcium_mg",
    "iron_mg",
)
"""Figures that most labels print (our choice); the others are offered as more, or where they were kept before."""

OTHER_UNITS = ("energy_kj", "salt_g")
"""Fields for what labels of other countries print in the place of kcal and sodium; kept in those."""

FIGURE_FIELDS = tuple(NutritionFacts.model_fields)
"""Every figure that a form takes: ours, and those in other units."""
