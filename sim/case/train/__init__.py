"""What stands around the filters of a case: the unit, sister vessels, pump, rules: keys, checks and records."""
