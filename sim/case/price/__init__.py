"""Prices: keys, checks and records of a case."""
