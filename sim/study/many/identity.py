"""What a result rests on, as a key: another case, seed or program never finds it again."""

import hashlib
import platform
from collections.abc import Callable
from dataclasses import fields
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import hydraulics
from hydraulics.compiled import is_compiled
from sim.case.records import Case
from sim.study.many.outcome import RunOne

LIBRARIES = ("numba", "llvmlite", "numpy", "scipy", "simpy", "fluids", "chemicals")
NO_PART_OF_A_RUN = frozenset({"title", "policies", "assumptions", "constants", "source_hash", "remedies", "solved"})


@cache
def program() -> str:
    """SHA-256 of every source of ours that runs lead through, of the libraries' versions, and whether compiled."""
    physics = Path(hydraulics.__file__).parent
    digest = hashlib.sha256()
    for folder in (physics, Path(__file__).parents[2]):
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


def keys_of(case: Case, seed: int, run: RunOne, *, uncertain: bool) -> Callable[[str, int], str]:
    """The key of a run by its policy and replicate.

    The case counts by its records, so that its title, its layout and its other policies do not; where constants are
    drawn, the ranges that they are drawn from and the whole content of the file count too.
    """
    parts = [program(), f"{run.__module__}.{run.__qualname__}", str(seed)]
    names = [each.name for each in fields(case) if each.name not in NO_PART_OF_A_RUN]
    parts += [f"{name}={getattr(case, name)!r}" for name in names]
    if uncertain:
        parts += ["drawn", case.source_hash, repr(case.assumptions)]
    study = hashlib.sha256("\n".join(parts).encode())
    triggers = {policy.name: repr(policy.triggers) for policy in case.policies}

    def key(policy: str, replicate: int) -> str:
        found = study.copy()
        found.update(f"\n{policy!r} {triggers[policy]} {replicate}".encode())
        return found.hexdigest()

    return key
