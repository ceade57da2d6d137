"""The units and words of ingredient lines: reference_data/recipes."""
