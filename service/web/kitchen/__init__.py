"""What comes out of a stored plan: its shopping list, prep days, labels and calendar, to look at, tick, print and keep."""
