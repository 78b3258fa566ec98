"""Inspection, repair and proof of air disc brakes on trucks, buses and trailers."""

__version__ = "0.1.0"
