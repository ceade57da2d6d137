"""What to make, freeze, buy and set out so that lunches are right on every school day to come."""
