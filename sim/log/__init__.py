"""The log that a plant keeps itself, read from a file or a case: what was read when, and the washes in it."""
