"""What a run costs: ratios to plainer ways of computing the same, and the counts of work that CI holds down."""
