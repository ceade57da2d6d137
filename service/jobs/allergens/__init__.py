"""Allergen lists, and screening foods for a family."""
