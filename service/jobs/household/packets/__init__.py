"""The packets of a household: which to read, what they say, their photographs."""
