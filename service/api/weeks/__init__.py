"""The addresses about weeks."""
