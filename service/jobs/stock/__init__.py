"""What there is to eat and until when."""
