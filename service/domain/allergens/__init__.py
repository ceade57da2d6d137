"""Allergens: their names and groups, and a food held against what must be avoided."""
