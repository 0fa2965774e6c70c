"""Which program computes runs, as a hash: other sources, other libraries, or plain instead of compiled."""

import hashlib
import platform
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import hydraulics
from hydraulics.compiled import is_compiled

LIBRARIES = ("numba", "llvmlite", "numpy", "scipy", "simpy", "fluids", "chemicals")


@cache
def program() -> str:
    """SHA-256 of the sources of `hydraulics` and `sim`, the versions of Python and libraries, and compiled or not."""
    digest = hashlib.sha256()
    for folder in (Path(hydraulics.__file__).parent, Path(__file__).parents[1]):
        for file in sorted(folder.rglob("*.py")):
            digest.update(file.relative_to(folder.parent).as_posix().encode() + b"\0" + file.read_bytes() + b"\0")
    about = [platform.python_implementation(), platform.python_version(), platform.machine()]
    about += [f"{name} {_version(name)}" for name in LIBRARIES]
    about.append("compiled" if is_compiled() else "plain")
    digest.update("\n".join(about).encode())
    return digest.hexdigest()


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "absent"
