"""What keeps pages on several devices alike."""
