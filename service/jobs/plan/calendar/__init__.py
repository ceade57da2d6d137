"""The days of a plan as a calendar."""
