"""Standards of frequencies, school food groups and how many days a week has."""
