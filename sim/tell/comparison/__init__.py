"""A comparison of ways to start a wash, of one run each or of many: first screen, report, tables."""
