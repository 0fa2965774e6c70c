"""A year by the minute, of numbers alone: no plant is run."""

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

MINUTES = 525_600
EVERY, LASTS = 3 * 1440, 22
"""Minutes from wash to wash, and of one wash."""


def make_minute_log(path: Path, *, seed: int = 1) -> Path:
    """Flow, total, pressure drop, turbidity, temperature and marks of washes, with noise; the path."""
    random, minute = np.random.default_rng(seed), np.arange(MINUTES)
    hour, since = minute // 60 % 24, minute % EVERY
    washing = (minute >= EVERY) & (since < LASTS)
    asked = np.where((hour >= 6) & (hour < 22), 5.5, 1.8) * (1 + 0.01 * random.normal(size=MINUTES))
    flow = np.where(washing, 0.0, asked)
    total = 20_000.0 + np.cumsum(flow / 60.0)
    drop = (flow / 5.5) ** 1.3 * (20.0 + 30.0 * since / EVERY) + 0.1 * random.normal(size=MINUTES)
    turbid = np.exp(0.5 * np.sin(minute / 9000.0) + 0.1 * random.normal(size=MINUTES))
    warm = 12.0 + 6.0 * np.sin(2.0 * np.pi * minute / MINUTES)
    start = datetime(2027, 1, 1)
    with path.open("w", encoding="utf-8") as file:
        file.write("time,flow [m3/h],total [m3],pressure drop [kPa],turbidity in [NTU],temperature [degC],wash\n")
        file.writelines(
            f"{start + timedelta(minutes=m)},{flow[m]:.2f},{total[m]:.2f},{max(drop[m], 0):.1f},{turbid[m]:.2f},"
            f"{warm[m]:.1f},{'1' if washing[m] else ''}\n"
            for m in range(MINUTES)
        )
    return path
