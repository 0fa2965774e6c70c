"""What a wash draws from and drains into: keys, checks and records of a case."""
