"""Plans of a household as its pages use them: begun from what is stored, looked at as they stand, changed day by day."""
