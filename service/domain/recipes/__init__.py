"""Recipes as other people write them: what a line of ingredients says, and what a saved page holds."""
