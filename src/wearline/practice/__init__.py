"""Wheel ends that do not exist, with a known truth."""
