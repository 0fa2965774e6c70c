"""Everything people look at: figures, the report, the sheets, and the words on them.

Takes pandas tables, numbers in display units and text (`plots.inputs`); runs nothing and knows nothing of `sim`.
"""

from contextlib import chdir
from importlib import import_module
from pathlib import Path


def load_drawing() -> None:
    """Load matplotlib from a folder of ours: in that where somebody stands it would read a file of settings."""
    with chdir(Path(__file__).parent):
        import_module("matplotlib")
