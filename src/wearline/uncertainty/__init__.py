"""uncertainty."""
