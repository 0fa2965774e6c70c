"""Ready demonstrations: a small invented plant each, a question, runs of seconds, and what they show.

`names` lists them; each is a module with a `LESSON`, and its case files lie beside it.
"""
