"""An offer: choice groups, rules, and the rows that are counted."""
