"""Files in and blank sheets out: facts are moved here, never judged.

The modules are imported by name, so that reading a TOML file loads nothing that only spreadsheets need:
``read`` (files), ``document`` (documents of the file's shape), ``write``, ``sheet`` (blank sheets) and
``columns`` (many wheel ends at once from Parquet).
"""
