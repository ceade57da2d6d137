"""What a household stores: children, foods, offers, lunches."""
