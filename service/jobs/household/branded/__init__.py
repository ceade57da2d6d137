"""Branded foods for a household: in the index on this machine, and over the internet where it has switched that on."""
