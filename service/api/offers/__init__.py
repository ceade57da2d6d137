"""The addresses about offers."""
