"""Summing up a week."""
