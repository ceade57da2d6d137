"""The addresses about allergens."""
