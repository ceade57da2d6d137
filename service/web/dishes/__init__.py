"""Dishes: own recipes from ingredients, and what a portion comes to."""
