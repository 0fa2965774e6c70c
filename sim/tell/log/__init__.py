"""What a person is told of a log: a sheet to keep one by hand."""
