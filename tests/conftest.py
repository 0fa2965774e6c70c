"""Settings that every test shares."""

from hypothesis import settings

# The first example of a test may compile a kernel, which takes seconds and says nothing about the rest.
settings.register_profile("patient", deadline=None)
settings.load_profile("patient")
