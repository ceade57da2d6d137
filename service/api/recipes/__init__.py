"""Recipes that are brought in."""
