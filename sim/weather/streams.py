"""Random numbers for everything that is random: one stream for each source, told apart by the source's name."""

import hashlib

import numpy as np

MOST_SEEDS, MOST_REPLICATES = 2**63, 2**32
"""Seeds and replicates are whole numbers from 0 to below these."""


def stream(name: str, *, seed: int, replicate: int) -> np.random.Generator:
    """The numbers of one source in one replicate.

    They depend on its name and on nothing else of the case: another source, stage or policy changes none of them.
    Raises ValueError for a seed or a replicate outside its range.
    """
    for what, number, most in (("seed", seed, MOST_SEEDS), ("replicate", replicate, MOST_REPLICATES)):
        if not 0 <= number < most:
            raise ValueError(f"{what} {number}: allowed are whole numbers from 0 to {most - 1}")
    # Python's own hash of a text differs from process to process.
    digest = hashlib.sha256(name.encode("utf-8")).digest()
    words = tuple(int.from_bytes(digest[i : i + 4], "little") for i in range(0, 16, 4))
    return np.random.Generator(np.random.PCG64(np.random.SeedSequence(seed, spawn_key=(*words, replicate))))
