"""Signing in with a link, and the devices that are signed in."""
