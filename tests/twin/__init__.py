"""A plain fixed-step twin of one filter, written apart from the product, to measure it against.

`Plant` says what is simulated (SI units; solids and deposit in g/m3), `reference_plant` types the reference
case by hand, `run_compiled` and `run_vectorised` march it and return a `TwinResult`. Nothing here imports the
product.
"""

from .compiled import run_compiled
from .spec import Layer, Plant, Step, Trigger, TwinResult, reference_plant
from .vectorised import run_vectorised

__all__ = [
    "Layer",
    "Plant",
    "Step",
    "Trigger",
    "TwinResult",
    "reference_plant",
    "run_compiled",
    "run_vectorised",
]
