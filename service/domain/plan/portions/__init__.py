"""How many portions are enough, always or usually, and how readily each food is taken."""
