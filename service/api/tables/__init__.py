"""The addresses about tables."""
