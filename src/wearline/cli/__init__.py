"""The command line: one command is one use case."""
