"""Checking a table of lunches."""
