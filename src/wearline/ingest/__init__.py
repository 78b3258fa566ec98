"""Files in and blank sheets out."""
