"""Commands that plan, prepare and shop."""
