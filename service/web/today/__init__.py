"""The first page of a parent: today."""
