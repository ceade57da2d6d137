"""The packed-lunch check service."""

__version__ = "0.1.0"
