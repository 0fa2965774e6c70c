"""What a log says about the constants of a filter, and how surely."""
