"""Facts as they were taken, without judgement."""
