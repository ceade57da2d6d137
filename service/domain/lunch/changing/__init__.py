"""Changes to a lunch, a week or an offer: what may change, and which changes come first."""
