"""Which program computes runs, as a hash: other sources, other libraries, or plain instead of compiled."""

import hashlib
import platform
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from hydraulics.compiled import is_compiled

ROOMS = ("hydraulics", "sim/case", "sim/weather", "sim/wash", "sim/plant", "sim/study/many")
"""The folders whose sources can change what a run comes to: nothing that judges or tells."""

LIBRARIES = ("numba", "llvmlite", "numpy", "scipy", "simpy", "fluids", "chemicals")


@cache
def program() -> str:
    """SHA-256 of the sources of ROOMS, the versions of Python and libraries, and compiled or not."""
    about = [platform.python_implementation(), platform.python_version(), platform.machine()]
    about += [f"{name} {_version(name)}" for name in LIBRARIES]
    about.append("compiled" if is_compiled() else "plain")
    return hashlib.sha256("\n".join([sources(Path(__file__).parents[3]), *about]).encode()).hexdigest()


def sources(root: Path) -> str:
    """SHA-256 of the names and the texts of all files of ROOMS below a folder."""
    digest = hashlib.sha256()
    for file in sorted(each for room in ROOMS for each in (root / room).rglob("*.py")):
        digest.update(file.relative_to(root).as_posix().encode() + b"\0" + file.read_bytes() + b"\0")
    return digest.hexdigest()


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "absent"
