"""Commands on a stored household."""
