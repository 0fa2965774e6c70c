"""What a failure does, told."""
