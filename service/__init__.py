"""The packed-lunch check service."""
