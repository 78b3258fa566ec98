"""Limits, checks, designs, rules and work, as data with their sources."""
