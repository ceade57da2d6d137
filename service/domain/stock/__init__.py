"""How long food keeps, what there is of it, and what is used first."""
