"""Tables of lunches as files: read in parts, written whole."""
