"""Bringing in a recipe: its lines read, matched to foods and weighed, and what is doubtful asked."""
