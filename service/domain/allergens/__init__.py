"""Allergens: their names and groups, and a food checked against what must be avoided."""
