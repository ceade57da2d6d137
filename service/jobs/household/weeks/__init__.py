"""The days and weeks of a household's children, and what they cost."""
