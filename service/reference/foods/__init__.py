"""The foods, dishes and label rounding rules of reference_data."""
