"""The database: append-only inspections."""
