"""The command-line edge."""
