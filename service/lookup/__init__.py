"""Data from outside that is looked up, each source in a room of its own; nothing here is used unless it is asked for."""
