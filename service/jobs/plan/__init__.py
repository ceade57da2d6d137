"""Planning: how much is enough, offers that cannot go wrong, plans, and the sheets that come out."""
