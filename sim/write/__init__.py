"""A first case from a few numbers: questions, answers, and the commented file that they become."""
