"""Models for the solver: what the domain asks for, as rows and whole numbers; nothing else knows the solver."""
