"""Offers that cannot go wrong: found by the solver, proven by the audit."""
