"""What a wash does to water and bed, worked out without a clock: the flow it reaches, the bed it lifts."""
