"""What a household has at home: entries, what happens to them, and what to do with them today."""
