"""Decisions: the best setting of each way to start a wash under limits, and what a meter or a switch is worth."""
