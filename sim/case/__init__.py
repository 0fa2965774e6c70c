"""Case files: read, checked and turned into frozen records.

`load.load_case` reads a file, `records` says what it gives, `schema.json_schema` tells editors what a file
may hold.
"""
