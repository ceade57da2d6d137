"""The children: what is needed to pack for them, and no more."""
