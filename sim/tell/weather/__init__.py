"""A fitted weather: lines for a case, a table against the record, a picture."""
