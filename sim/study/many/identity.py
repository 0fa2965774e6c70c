"""What a result rests on, as a key: another case, seed or program never finds it again."""

import hashlib
from collections.abc import Callable
from dataclasses import fields

from sim.case.records import Case
from sim.study.many.outcome import RunOne
from sim.study.many.program import program

NO_PART_OF_A_RUN = frozenset(
    {"title", "policies", "assumptions", "constants", "source_hash", "remedies", "solved", "stated", "prices"}
)


def keys_of(case: Case, seed: int, run: RunOne, *, uncertain: bool) -> Callable[[str, int], str]:
    """The key of a run by its policy and replicate.

    The case counts by its records, so that its title, its layout and its other policies do not; where constants are
    drawn, the ranges that they are drawn from and the whole content of the file count too.
    """
    parts = [program(), f"{run.__module__}.{run.__qualname__}", str(seed)]
    names = [each.name for each in fields(case) if each.name not in NO_PART_OF_A_RUN]
    parts += [f"{name}={getattr(case, name)!r}" for name in names]
    if uncertain:
        parts += ["drawn", case.source_hash, repr(case.ranged)]
    study = hashlib.sha256("\n".join(parts).encode())
    triggers = {policy.name: repr(policy.triggers) for policy in case.policies}

    def key(policy: str, replicate: int) -> str:
        found = study.copy()
        found.update(f"\n{policy!r} {triggers[policy]} {replicate}".encode())
        return found.hexdigest()

    return key
