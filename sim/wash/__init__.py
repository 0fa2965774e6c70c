"""A wash worked out without a clock: the flow it reaches, the bed it lifts, the salt that it brings."""
