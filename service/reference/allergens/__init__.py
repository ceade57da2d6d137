"""The allergen vocabulary and the lists of the law."""
