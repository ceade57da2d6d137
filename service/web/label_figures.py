"""Which figures of a label are asked for first."""

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
