"""What a household keeps: children, foods, offers, lunches."""
