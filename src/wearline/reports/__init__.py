"""Drawings, pages and documents made from answers."""
