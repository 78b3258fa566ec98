"""What readings say: verdicts, geometry, road decision."""
