"""What a household sets out, and what a child takes of it."""
