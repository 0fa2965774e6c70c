"""Ready demonstrations: a small invented plant each, a question, runs of seconds, and what they show.

`names` lists them; each is a file with a `LESSON`, a record that `lesson` runs and tells, and a case file beside it.
"""
