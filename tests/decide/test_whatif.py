"""Exact: what a meter that errs makes of the volumes that it is set to, by hand."""

from dataclasses import replace

import pytest

from sim.case.price.records import Meter, Prices
from sim.case.trigger.records import AnyOf, SingleTrigger, Trigger, VolumeLearned
from sim.study.decide.trials import Candidate
from sim.study.decide.whatif import NEVER_VOLUME, what_ifs
from tests.plant.builders import CALENDAR, DAY, HOUR, M3_H, PRESSURE, RESERVE, VOLUME, make_case, policy

LEARNED = VolumeLearned(volume=330.0, reserve=60.0, quantile=0.9, days=14, by="trailing", at=3 * HOUR)


def acted(trigger: Trigger, meter: Meter | None = None) -> dict[str, Trigger]:
    """What a trigger is in effect under each fault of the meter; the demand is 8 h at 1.8 and 16 h at 5.5 m3/h."""
    case = make_case(prices=None if meter is None else Prices(meter=meter))
    faults = what_ifs(case, Candidate(name="set", policy=policy("own", trigger)), "meter")
    return {fault.kind: candidate.policy.triggers[0][1] for fault, candidate in faults}


def volumes(found: dict[str, Trigger]) -> dict[str, float]:
    return {kind: getattr(trigger, "volume", 0.0) for kind, trigger in found.items()}


def test_a_meter_that_reads_too_much_washes_too_early() -> None:
    """A quarter too much: 250 m3 on the meter are 200; a quarter too little: 333 m3."""
    found = volumes(acted(VOLUME, Meter(error=0.25)))
    assert found == pytest.approx({"too much": 200.0, "too little": 1000.0 / 3.0, "stuck": NEVER_VOLUME})
    usual = volumes(acted(VOLUME))
    assert usual == pytest.approx({"too much": 250.0 / 1.05, "too little": 250.0 / 0.95, "stuck": NEVER_VOLUME})


def test_below_its_least_flow_a_meter_stands_still() -> None:
    """88 of 102.4 m3 a day pass at 5.5 m3/h: 250 m3 seen are 290.9; above that flow it never sees any."""
    slow = volumes(acted(VOLUME, Meter(error=0.25, least_flow=2.0 * M3_H)))
    assert slow["least flow"] == pytest.approx(250.0 * 102.4 / 88.0)
    assert volumes(acted(VOLUME, Meter(least_flow=6.0 * M3_H)))["least flow"] == NEVER_VOLUME


@pytest.mark.parametrize("trigger", [RESERVE, LEARNED], ids=["with reserve", "with learned reserve"])
def test_a_reserve_is_read_by_the_same_meter(trigger: SingleTrigger) -> None:
    """330 and 60 m3 on a meter that reads a quarter too much are 264 and 48."""
    found = acted(trigger, Meter(error=0.25))
    assert found["too much"] == replace(trigger, volume=264.0, reserve=48.0)  # type: ignore[call-arg]
    assert found["too little"] == replace(trigger, volume=440.0, reserve=80.0)  # type: ignore[call-arg]


def test_what_needs_no_meter_stays() -> None:
    either = AnyOf(triggers=(CALENDAR, PRESSURE, VOLUME), longest_run=9 * DAY)
    found = acted(either, Meter(error=0.25))["too much"]
    assert found == replace(either, triggers=(CALENDAR, PRESSURE, replace(VOLUME, volume=200.0)))
