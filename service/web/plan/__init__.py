"""Plans of one to four weeks: made with one press, looked at day by day, changed, and planned again."""
