"""The addresses about what a household stores."""
