"""Readers of what is known of keeping, freezing and thawing."""
