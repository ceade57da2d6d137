"""What comes out of a stored plan: shopping, prep days, labels, and the days of its calendar."""
