"""Stored days: lunches by day, school days, the school's menu."""
