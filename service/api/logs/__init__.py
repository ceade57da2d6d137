"""What is written down of requests: a line each, metrics; never what was in them."""
