"""Auditing an offer."""
