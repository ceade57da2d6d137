"""The addresses of what a household keeps; each file is loaded with the first request for it."""
