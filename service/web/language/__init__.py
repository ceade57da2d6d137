"""What a page says in the language of whoever reads it: the one chosen, and days, amounts and money in its words."""
