"""What to buy for the days ahead, and what it costs."""
