"""What a household stores: records of every kind, how they are found, and all of them together."""
