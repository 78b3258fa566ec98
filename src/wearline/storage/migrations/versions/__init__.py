"""One module per schema version; a released one is never edited."""
