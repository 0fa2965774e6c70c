"""What is to be set at each filter."""
