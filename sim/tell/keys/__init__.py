"""What a case may hold, told from its schema: `filterrun keys` and cases/KEYS.md."""
