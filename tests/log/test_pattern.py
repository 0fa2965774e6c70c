"""Washes that no mark tells, from numbers made here."""

import numpy as np
import pytest

from sim.log.pattern import washes_seen
from sim.log.records import Series, What

HOUR = 3600.0


def series(what: What, at: np.ndarray, values: np.ndarray, resolution: float = 100.0) -> Series:
    return Series(what=what, times=tuple(at.tolist()), values=tuple(values.tolist()), resolution=resolution)


def saw(at: np.ndarray, every: float, flow: np.ndarray, *, seed: int, noise: float) -> np.ndarray:
    """A pressure drop [Pa] that doubles from wash to wash, over the power 1.4 of the flow, with relative noise."""
    random = np.random.default_rng(seed)
    return 2e4 * (flow / 1.5e-3) ** 1.4 * (1.0 + at % every / every) * (1.0 + noise * random.standard_normal(len(at)))


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("step", [0.25 * HOUR, HOUR, 12 * HOUR])
def test_every_wash_is_seen_and_no_other(step: float, seed: int) -> None:
    every, at = 96 * HOUR, np.arange(0.0, 40 * 86_400.0, step)
    flow = np.where(at // HOUR % 24 < 12, 1.5e-3, 1.0e-3) if step < 12 * HOUR else np.full(len(at), 1.5e-3)
    drop = saw(at, every, flow, seed=seed, noise=0.02)
    washes = washes_seen(series(What.FLOW, at, flow, 1e-6), series(What.PRESSURE_DROP, at, drop), step)
    assert len(washes) == 9
    for number, wash in enumerate(washes, start=1):
        assert abs(wash.start - number * every) <= step
        assert (wash.end, wash.found) == (None, "seen")


def test_a_wash_is_while_nothing_flows() -> None:
    at = np.arange(0.0, 9 * 86_400.0, 60.0)
    washing = (at % (72 * HOUR) < 1200.0) & (at > 0.0)
    flow = np.where(washing, 0.0, 1.5e-3)
    drop = np.where(washing, 0.0, saw(at, 72 * HOUR, np.full(len(at), 1.5e-3), seed=1, noise=0.01))
    seen = washes_seen(series(What.FLOW, at, flow, 1e-6), series(What.PRESSURE_DROP, at, drop), 60.0)
    minutes = [(round(wash.start / 60.0), wash.end and round(wash.end / 60.0)) for wash in seen]
    assert minutes == [(72 * 60 - 1, 72 * 60 + 20), (144 * 60 - 1, 144 * 60 + 20)]


def test_none_is_seen_in_a_bed_that_does_not_clog() -> None:
    at = np.arange(0.0, 40 * 86_400.0, HOUR)
    flow = np.where(at // HOUR % 24 < 12, 1.5e-3, 1.0e-3)
    drop = 2e4 * (flow / 1.5e-3) ** 1.7 * (1.0 + 0.02 * np.random.default_rng(2).standard_normal(len(at)))
    assert washes_seen(series(What.FLOW, at, flow, 1e-6), series(What.PRESSURE_DROP, at, drop), HOUR) == ()
    assert washes_seen(None, series(What.PRESSURE_DROP, at, drop), HOUR) == ()
