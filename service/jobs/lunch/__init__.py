"""Checking one lunch."""
