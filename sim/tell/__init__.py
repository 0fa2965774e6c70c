"""What is said and shown of a study: it chooses words, tables and inputs of figures, and runs nothing."""
