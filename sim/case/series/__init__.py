"""The run, the water that comes and the water that is asked for: keys, checks and records of a case."""
