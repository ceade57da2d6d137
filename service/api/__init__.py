"""The HTTP edge."""
