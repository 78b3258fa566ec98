"""Facts as they were taken, without judgement: vehicles, wheel ends, readings, inspections."""
