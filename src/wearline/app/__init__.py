"""Use cases: open, compute, save."""
