"""The complete job."""
