"""The first run after an installation compiles the kernel; later ones load it."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
SCRIPT = """
import time
began = time.perf_counter()
from sim.case.load import load_case
from sim.plant import simulate
case = load_case("cases/reference.toml")
loaded = time.perf_counter()
simulate(case, "pressure drop")
print(loaded - began, time.perf_counter() - loaded)
"""


def first_runs() -> list[tuple[float, float]]:
    """Seconds to import and read a case, and for its first run, without kept machine code and then with."""
    with tempfile.TemporaryDirectory() as folder:
        return [_started(folder) for _ in range(2)]


def _started(folder: str) -> tuple[float, float]:
    environment = os.environ | {"NUMBA_CACHE_DIR": folder}
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    loading, running = map(float, done.stdout.split())
    return loading, running
