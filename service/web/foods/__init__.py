"""Foods: those of the tables to look up, and the household's own from their labels."""
