"""A decision: best settings, what a device is worth: sentences, tables, report."""
