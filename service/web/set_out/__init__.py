"""What is set out: offers, what follows from them for each child, the days, and what is printed."""
