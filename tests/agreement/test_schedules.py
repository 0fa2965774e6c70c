"""Logs of washes from the product against the twin's schedule: the same washes, for the same reasons, at the same
time. A few dozen trains by default, 300 with `-m long`; half of them with faults of clocks, meters and switches, and
with power cuts.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings

from sim.plant.simulate import simulate
from tests.agreement.schedules import POLICY, case_of, marks_of, trains
from tests.twin.schedule import Train, washes

WITHIN = 1e-5  # s: a meter that counts for days adds up its water with rounding
FEW = settings(max_examples=20, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
MANY = settings(FEW, max_examples=150, derandomize=False)


def agree(train: Train) -> None:
    """Each wash and each return has its match."""
    theirs = sorted(washes(train))
    ours = sorted(marks_of(train, simulate(case_of(train), POLICY)))
    for mine, other in zip(ours, theirs, strict=False):
        assert mine[1:] == other[1:]
        assert mine.time == pytest.approx(other.time, abs=WITHIN, rel=0.0)
    assert len(ours) == len(theirs)


@pytest.mark.parametrize("faulty", [False, True])
def test_a_few_schedules_agree(faulty: bool) -> None:
    FEW(given(trains(faulty=faulty))(agree))()


@pytest.mark.long
@pytest.mark.parametrize("faulty", [False, True])
def test_many_schedules_agree(faulty: bool) -> None:
    MANY(given(trains(faulty=faulty))(agree))()
