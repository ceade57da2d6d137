"""A household's children: by which rules each is looked at, in words, and what goes when one is removed."""
