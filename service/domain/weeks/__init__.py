"""A week judged: means and totals, frequencies, variety, cost and changes for next week."""
