"""What to make on a prep day, in which order, and where it goes."""
