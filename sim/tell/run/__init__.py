"""One run: what it took, its weeks, its washes, one moment of it."""
