"""How much is enough, offers that cannot go wrong, and plans."""
