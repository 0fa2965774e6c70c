"""What fails at a plant: keys, checks and records of a case."""
