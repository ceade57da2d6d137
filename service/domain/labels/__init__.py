"""Reading the text of a label: words, phrases, warnings and denials."""
