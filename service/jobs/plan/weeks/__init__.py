"""Plans of some weeks: which offer stands on which day, who buys, what is made when."""
