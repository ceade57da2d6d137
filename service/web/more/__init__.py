"""More: the way to everything that is not on the first line of pages."""
