"""Exact counts over every lunch that an offer allows."""
