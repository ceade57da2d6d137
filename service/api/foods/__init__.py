"""The addresses about foods."""
