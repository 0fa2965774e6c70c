"""Cases unlike the reference through the product, against the twin at equal cells.

A difference that a finer tick makes smaller is the twin's, one that stays is the product's: the tolerances shrink
faster than the tick, and the largest gap between two washes must not grow.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from sim.case.records import Case
from sim.plant import RunResult, simulate
from tests import twin
from tests.agreement.compare import TICKS_A_RUN, WATER_SECONDS, differences, gaps, gaps_in_ticks_a_run, largest_gap
from tests.agreement.plants import twin_of
from tests.agreement.varied import RAW_WASH, VARIED, one, own_coefficients
from tests.plant.builders import ANTHRACITE, FILTER, SAND
from tests.twin.spec import POLICIES

# A set point that is just missed in the evening waits for the morning: there a tick's error becomes a night, and with
# a wash of two ticks it is too large to say which.
TOO_ROUGH = {("short wash", "pressure drop")}


# Every case with each of its policies that a coarse tick can follow.
PAIRS = [(name, policy) for name in VARIED for policy in POLICIES if (name, policy) not in TOO_ROUGH]

# One policy of each case by default, in turn.
FINER = [
    pytest.param(name, policy, marks=[] if policy == POLICIES[place % len(POLICIES)] else pytest.mark.long)
    for place, name in enumerate(VARIED) for policy in POLICIES if (name, policy) not in TOO_ROUGH
]  # fmt: skip


@cache
def case_of(name: str) -> Case:
    return VARIED[name]()


@cache
def product(name: str, policy: str) -> RunResult:
    return simulate(case_of(name), policy)


@cache
def twin_run(name: str, policy: str, tick: float) -> twin.TwinResult:
    return twin.run_compiled(twin_of(case_of(name), policy), tick)


def agree(name: str, policy: str, tick: float, coarser: float) -> None:
    """Washes and KPIs agree at a tick, and the washes no worse than at a coarser one."""
    ours, theirs = product(name, policy), twin_run(name, policy, tick)
    runs = len(theirs.wash_starts)
    assert runs > 5
    assert np.all(gaps_in_ticks_a_run(ours, theirs, tick) <= TICKS_A_RUN), gaps(ours, theirs)
    assert differences(case_of(name), ours, theirs, tick) == []
    before = largest_gap(ours, twin_run(name, policy, coarser))
    assert largest_gap(ours, theirs) <= max(before, WATER_SECONDS * runs)


@pytest.mark.parametrize(("name", "policy"), PAIRS)
def test_minute_ticks(name: str, policy: str) -> None:
    ours, theirs = product(name, policy), twin_run(name, policy, 60.0)
    assert differences(case_of(name), ours, theirs, 60.0) == []
    if policy == "calendar":
        assert np.all(gaps(ours, theirs) == 0.0)


@pytest.mark.parametrize(("name", "policy"), FINER)
def test_ticks_of_20_seconds(name: str, policy: str) -> None:
    agree(name, policy, 20.0, 60.0)


@pytest.mark.long
@pytest.mark.parametrize(("name", "policy"), PAIRS)
def test_ticks_of_5_seconds(name: str, policy: str) -> None:
    agree(name, policy, 5.0, 20.0)


def test_the_residual_lies_evenly_through_a_layer_of_several_coefficients() -> None:
    layers = (own_coefficients(ANTHRACITE), own_coefficients(SAND))
    case = one(replace(FILTER, layers=layers, cells_per_layer=24, steps=RAW_WASH))
    theirs = twin.run_compiled(twin_of(case, "volume"), 20.0)
    assert differences(case, simulate(case, "volume"), theirs, 20.0) == []
