"""The settings sheet: its facts and its words."""
