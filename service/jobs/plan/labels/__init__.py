"""Labels for what was made."""
