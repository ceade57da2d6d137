"""The addresses about what a household keeps."""
