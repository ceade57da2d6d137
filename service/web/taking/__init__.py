"""A child's own page: it makes up its lunch from what is set out."""
