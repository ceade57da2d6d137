"""The stock: what is at home, what ends first, and what happens to it."""
