"""Branded foods for a household: in the index on this machine, and over the network where it has switched that on."""
