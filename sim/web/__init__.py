"""The local page: the same studies as the command line, asked by question in a browser.

A request is read strictly, becomes a job of a worker process, and its answer becomes a page or a fragment of one.
Nothing is written to disk; every state of a page is in its address.
"""

from plots import load_drawing

load_drawing()
