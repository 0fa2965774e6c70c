"""What starts a wash: keys, checks and records of a case."""
