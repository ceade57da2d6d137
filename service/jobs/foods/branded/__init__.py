"""Foods of a public database of branded foods: looked up by code or words, and said with source and date."""
