"""The week: all children on one page, each child, and each day of a child."""
