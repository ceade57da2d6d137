"""Many lunches judged at once, as arrays."""
