"""Who may use a household: households, their access keys, and the store that is opened for a request."""
