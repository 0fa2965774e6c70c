"""Everything people look at: figures, the report, the sheets, and the words on them.

Takes pandas tables, numbers in display units and text (`plots.inputs`); runs nothing and knows nothing of `sim`.
"""

import gc
from contextlib import chdir
from importlib import import_module
from pathlib import Path

COLLECTED = (50_000, 20, 20)  # objects made, and rounds of the younger ones, before what is left is looked for


def load_drawing() -> None:
    """Load matplotlib from a folder of ours: in that where somebody stands it would read a file of settings.

    Figures are a great many objects that refer to each other: looking often for those that are left takes a fifth.
    """
    with chdir(Path(__file__).parent):
        import_module("matplotlib")
    gc.set_threshold(*COLLECTED)
