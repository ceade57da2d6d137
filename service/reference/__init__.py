"""Turns the files of reference_data into domain objects, each once and only when asked for."""
