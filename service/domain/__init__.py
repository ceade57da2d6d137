"""Pure rules: frozen dataclasses and functions; no files, clock, network or framework."""
