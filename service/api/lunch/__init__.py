"""The addresses about lunch."""
