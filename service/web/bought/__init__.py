"""Bought lunches: the school's menu, who buys it, what it means for each child, and what it costs."""
