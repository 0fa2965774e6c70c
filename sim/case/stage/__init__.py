"""One filter of a case: its vessel, layers and laws, from keys to records."""
