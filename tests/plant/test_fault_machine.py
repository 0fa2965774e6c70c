"""Trains in which devices, clocks, power and supplies fail, gone through in pieces of any size and looked at.

A few dozen by default, always the same ones; 300 with `-m long`, fresh ones but in CI.
"""

import os
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule, run_state_machine_as_test
from hypothesis.strategies import DataObject, DrawFn

from sim.case.records import Case
from sim.case.trigger.records import Clock
from sim.plant.records import LogEntry
from sim.plant.simulate import Plant, simulate
from tests.plant.random_cases import POLICY, numbers
from tests.plant.random_faults import MOST_FAULTS, beside, faults, ledgers_close, log_holds
from tests.plant.random_trains import trains, treated_trains

SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]
FEW = settings(max_examples=5, stateful_step_count=12, deadline=None, derandomize=True, suppress_health_check=SLOW)
MANY = settings(FEW, max_examples=40, derandomize="CI" in os.environ)
TRAINS = settings(max_examples=300, deadline=None, suppress_health_check=SLOW)
DAYS = 3.0


@st.composite
def that_may_fail(draw: DrawFn, most_days: float) -> Case:
    """A drawn train with clocks of any kind, and a wash supply that may outlive a power cut."""
    case = draw(st.one_of(trains(most_days), treated_trains(most_days)))
    summer = (0.2 * case.run.length, 0.7 * case.run.length, draw(st.sampled_from((1800.0, 3600.0))))
    kinds = st.builds(
        Clock, drift=st.sampled_from((0.0, 30.0, -500.0)), daylight_saving=st.booleans(), keeps_time=st.booleans()
    )
    supply = case.supply and replace(case.supply, outlives_power_cut=draw(st.booleans()))
    stages = tuple(replace(stage, clock=draw(kinds)) for stage in case.stages)
    return replace(case, stages=stages, supply=supply, run=replace(case.run, summer=(summer,)))


class Failing(RuleBasedStateMachine):
    """First what will fail, then the run: on, and asked what has come of it so far."""

    def __init__(self) -> None:
        super().__init__()
        self.plant: Plant | None = None
        self.until = 0.0
        self.told: list[tuple[float, list[LogEntry]]] = []

    @initialize(case=that_may_fail(DAYS))
    def begins(self, case: Case) -> None:
        self.case = case

    @precondition(lambda self: self.plant is None and len(self.case.faults) < MOST_FAULTS)
    @rule(data=st.data())
    def fails(self, data: DataObject) -> None:
        fault = data.draw(faults(self.case))
        if beside(self.case.faults, fault):
            self.case = replace(self.case, faults=(*self.case.faults, fault))

    @rule(share=numbers(0.0, 0.5))
    def goes_on(self, share: float) -> None:
        if self.plant is None:
            self.plant = Plant(self.case, POLICY, seed=7)
        self.until += share * (self.case.run.length - self.until)
        self.plant.run_until(self.until)

    @precondition(lambda self: self.plant is not None)
    @rule()
    def is_asked(self) -> None:
        assert self.plant is not None
        so_far = self.plant.result()
        ledgers_close(so_far)
        self.told.append((self.until, [entry for entry in so_far.log if entry.time_s < self.until]))

    @precondition(lambda self: self.plant is not None)
    @rule()
    def is_looked_at(self) -> None:
        assert self.plant is not None
        line = self.plant.look()
        for i, row in enumerate(line.vessel):
            assert min(line.deposits(i)) >= -1e-9 * max(line.deposits(i))
            assert row.treated >= 0.0
            assert self.plant.shown(i).total >= 0.0

    def teardown(self) -> None:
        if not hasattr(self, "case"):
            return
        parts = self.plant or Plant(self.case, POLICY, seed=7)
        parts.run_until(self.case.run.length)
        whole = holds_for(self.case)
        result = parts.result()
        assert (result.log, result.runs, result.site, result.stages) == (
            whole.log, whole.runs, whole.site, whole.stages,
        )  # fmt: skip
        for until, told in self.told:
            assert told == [entry for entry in whole.log if entry.time_s < until]


def holds_for(case: Case) -> Any:
    """A whole run of it, in which all holds that must."""
    whole = simulate(case, POLICY, seed=7)
    ledgers_close(whole)
    log_holds(case, whole)
    return whole


@st.composite
def failing_trains(draw: DrawFn, most_days: float) -> Case:
    """A drawn train with up to eight faults."""
    case = draw(that_may_fail(most_days))
    for fault in draw(st.lists(faults(case), max_size=MOST_FAULTS)):
        if beside(case.faults, fault):
            case = replace(case, faults=(*case.faults, fault))
    return case


def in_parts_as_in_one(case: Case) -> None:
    whole = holds_for(case)
    plant = Plant(case, POLICY, seed=7)
    for stop in range(1, 6):
        plant.run_until(case.run.length * (stop + 0.3371) / 7)
        plant.result()
    plant.run_until(case.run.length)
    parts = plant.result()
    assert (parts.log, parts.runs, parts.site, parts.stages) == (whole.log, whole.runs, whole.site, whole.stages)


def test_a_few_plants_fail_as_they_should() -> None:
    run_state_machine_as_test(Failing, settings=FEW)


@pytest.mark.long
def test_many_plants_fail_as_they_should() -> None:
    run_state_machine_as_test(Failing, settings=MANY)


@pytest.mark.long
def test_many_failing_trains_hold() -> None:
    TRAINS(given(failing_trains(DAYS))(in_parts_as_in_one))()
