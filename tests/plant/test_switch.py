"""The switch as it is built, spikes, hold against on-time, and what a pump lets through."""

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

import sim.lessons
from hydraulics.water import viscosity
from sim.case.load import load_case
from sim.case.records import Case
from sim.case.train.records import Downstream, Pump, StartSpike, Switch, Tank, Unit, ValveSpike
from sim.plant.records import Cause, RunResult
from sim.plant.simulate import Plant, simulate
from sim.plant.trace import trace
from tests.plant.builders import (
    DAY,
    FILTER,
    HOUR,
    M3_H,
    MINUTE,
    Calendar,
    Pressure,
    make_case,
    policy,
    replace,
    steady,
)
from tests.plant.test_vessels import clean_pressure

AREA = math.pi / 4.0 * 0.9**2  # m2 of the lesson's vessel
LESSONS = Path(sim.lessons.__file__).parent
FLOW = 5.5 * M3_H
SWITCH = Switch(sample=5.0, error=0.0, reset_difference=0.0)


def case_of(above: float, hold: float, **given: Any) -> Case:
    """The reference filter at a steady flow, washed on its pressure drop."""
    own_keys = given.keys() & {"switch", "start_spike", "valve_spike"}
    stage = replace(FILTER, **{key: given.pop(key) for key in own_keys})
    own = (policy("own", Pressure(above=above, hold=hold), stages=(stage,)),)
    return make_case(**{"stages": (stage,), "policies": own, "demand": steady(FLOW), "days": 20.0} | given)


def starts(result: RunResult) -> list[float]:
    return [entry.time_s for entry in result.log if entry.what == "wash starts"]


# Sampling


def test_a_switch_without_error_trips_at_the_end_of_a_sample_and_its_hold() -> None:
    """At most a sample and a half later than the ideal: its mean is half a sample old."""
    ideal, built = (simulate(case_of(12e3, 180.0, **given), "own") for given in ({}, {"switch": SWITCH}))
    first, later = starts(ideal)[0], starts(built)[0]
    assert (later - 180.0) % 5.0 == pytest.approx(0.0, abs=1e-6)
    assert 0.0 <= later - first <= 7.5
    assert len(starts(built)) == len(starts(ideal))
    assert built.site["early_triggers"] == 0


def test_a_spike_trips_a_switch_only_from_its_own_height_below_the_set_point() -> None:
    """A bound of the signal that comes up to there is no signal: without the spike every wash lies that far below.

    The lesson's spikes are 9 kPa against 25 kPa, so the first start of its unit past 16 kPa washes. From one start to
    the next 16 min of 8 m3/h bring 5 g/m3 to a bed 0.9 m wide; each g/m2 adds 5 Pa at 12 m/h and 15 degC: algebra.
    Water of 14 degC is more viscous, by the product's own law.
    """
    rise = 5.0 * (5.0 * 8.0 * 16.0 / 60.0 / AREA) * (8.0 / AREA / 12.0) * viscosity(14.0) / viscosity(15.0) / 1e3
    assert rise == pytest.approx(0.091, abs=1e-3)
    case = load_case(LESSONS / "hold.toml", {"policy.switch.sand.hold": "0 s"})
    result = simulate(case, "switch")
    ends = [run.end_dp_kpa for run in result.runs if run.cause is Cause.PRESSURE]
    assert len(ends) > 30
    assert result.site["early_triggers"] == len(ends)
    assert all(16.0 <= end <= 16.0 + rise for end in ends)


def test_a_noisy_switch_trips_early_and_by_less_with_a_hold() -> None:
    """Errors of 0.3 kPa: without a hold the first of thousands of readings near the mark trips it."""
    noisy = replace(SWITCH, error=300.0)
    ideal = starts(simulate(case_of(12e3, 0.0), "own"))[0]
    none, held = (starts(simulate(case_of(12e3, hold, switch=noisy), "own"))[0] for hold in (0.0, 60.0))
    assert none < held
    assert none < ideal - HOUR


def test_the_first_noisy_trip_is_where_the_readings_say() -> None:
    """Every reading by hand: the signal of a run looked at every 5 s beside the drawn errors."""
    case = case_of(12e3, 0.0, switch=replace(SWITCH, error=300.0))
    plant = Plant(case, "own")
    tripped = starts(simulate(case, "own"))[0]
    errors = plant._line._tables.noise["error"]
    quiet = Plant(replace(case, policies=(policy("own", Calendar(every=90 * DAY, at=0.0)),)), "own")
    times = np.arange(tripped - 3600.0, tripped + 5.0, 5.0)
    signals = []
    for time in times - 2.5:
        quiet.run_until(float(time))
        signals.append(quiet.look().reading(0)[1])
    numbers = np.round(times / 5.0).astype(int)
    readings = np.array(signals) + 300.0 * errors[numbers % len(errors)]
    above = times[readings >= 12e3]
    assert above[0] == pytest.approx(tripped)


def test_errors_depend_on_the_reading_not_on_the_cut() -> None:
    case = case_of(12e3, 30.0, switch=replace(SWITCH, error=300.0, reset_difference=200.0), days=8.0)
    whole, cut = Plant(case, "own"), Plant(case, "own")
    for i in range(1, 180):
        cut.run_until(i * 3823.3)
    for plant in (whole, cut):
        plant.run_until(8 * DAY)
    assert replace(cut.result(), counts={}) == replace(whole.result(), counts={})


def test_another_seed_draws_other_errors() -> None:
    case = case_of(12e3, 0.0, switch=replace(SWITCH, error=300.0))
    one, same, other = (simulate(case, "own", seed=seed) for seed in (1, 1, 2))
    assert one == same
    assert starts(one) != starts(other)


def test_a_reset_difference_carries_the_hold_over_a_dip() -> None:
    """Flow that falls for 10 min an hour takes the signal below the mark, but not by the reset difference."""
    dips = np.where(np.arange(24) % 2 == 0, 5.5, 5.2) * M3_H
    from tests.plant.builders import by_the_hour

    demand = by_the_hour(*map(float, dips))
    plain = case_of(12e3, 2 * HOUR, demand=demand, switch=SWITCH)
    wide = case_of(12e3, 2 * HOUR, demand=demand, switch=replace(SWITCH, reset_difference=2e3))
    assert starts(simulate(wide, "own"))[0] < starts(simulate(plain, "own"))[0]


# Spikes and on-time

ON_TIME = 40 * MINUTE  # 6 m3/h into 3 m3/h of demand: the tank gains 2 m3 in 40 min
TANK = Tank(volume=10.0, start_below=4.0, stop_above=6.0, level=4.0)
STOP_AND_GO = Downstream(
    membrane=None, unit=Unit(feed_flow=6.0 * M3_H, recovery=1.0, tank=TANK), feed_limit=None,
    cartridge=None,
)  # fmt: skip
SPIKE = StartSpike(height=8e3, length=20.0)


def stop_and_go(hold: float, **given: Any) -> RunResult:
    demand = {"demand": steady(3.0 * M3_H), "downstream": STOP_AND_GO, "start_spike": SPIKE, "days": 30.0}
    return simulate(case_of(14e3, hold, **demand | given), "own")


def test_the_unit_runs_for_forty_minutes_at_a_time() -> None:
    site = stop_and_go(1e9).site
    assert site["downstream_run_h"] * HOUR / site["downstream_starts"] == pytest.approx(ON_TIME, rel=0.01)


@pytest.mark.parametrize("given", [{}, {"switch": SWITCH}])
def test_a_hold_longer_than_the_on_time_never_triggers_and_is_missed(given: dict[str, Any]) -> None:
    result = stop_and_go(ON_TIME + 60.0, **given)
    assert result.site["washes"] == 0
    assert result.site["missed_triggers"] > 100
    told = [(entry.what, entry.why) for entry in result.log[:-1]]
    assert told == [
        (f"set point passed {result.site['missed_triggers']} times without a wash", "the hold was not over")
    ]


@pytest.mark.parametrize("given", [{}, {"switch": SWITCH}])
def test_no_hold_triggers_on_spikes_and_is_early(given: dict[str, Any]) -> None:
    spiky, calm = stop_and_go(0.0, **given), stop_and_go(0.0, **given | {"start_spike": None})
    assert spiky.site["early_triggers"] == len(starts(spiky)) > len(starts(calm))
    assert calm.site["early_triggers"] == 0
    assert sum(entry.what == "set off early" for entry in spiky.log) == len(starts(spiky))


def test_a_window_lies_between() -> None:
    for hold in (30.0, 5 * MINUTE, 20 * MINUTE):
        site = stop_and_go(hold).site
        assert site["washes"] > 3
        assert site["early_triggers"] == 0


def test_a_spike_on_which_no_wash_waits_is_seen_and_cuts_no_piece() -> None:
    """The unit starts every eighty minutes; the calendar washes."""

    def by_calendar(spike: StartSpike | None) -> Case:
        stage = replace(FILTER, start_spike=spike)
        own = (policy("own", Calendar(every=DAY, at=3 * HOUR), stages=(stage,)),)
        demand = {"demand": steady(3.0 * M3_H), "downstream": STOP_AND_GO}
        return make_case(stages=(stage,), policies=own, days=3.0, **demand)

    spiky, calm = (simulate(by_calendar(spike), "own") for spike in (SPIKE, None))
    assert spiky.site["washes"] == 2
    assert spiky.counts["pieces"] == calm.counts["pieces"]
    times = (10.0, 30.0, 2 * ON_TIME + 10.0, 2 * ON_TIME + 30.0)
    seen = [sample.spike_kpa for sample in trace(by_calendar(SPIKE), "own", times=times)]
    assert seen == [8.0, 0.0, 8.0, 0.0]


def test_valves_elsewhere_trip_a_switch_without_a_hold() -> None:
    jolt = ValveSpike(height=9e3, length=10.0, a_day=2.0)
    jolted = simulate(case_of(14e3, 0.0, valve_spike=jolt), "own")
    held = simulate(case_of(14e3, 60.0, valve_spike=jolt), "own")
    assert jolted.site["early_triggers"] > 0
    assert held.site["early_triggers"] == 0


# Pump


def pump(*points: tuple[float, float], delivery: float = 0.0) -> Pump:
    """Points of flow [m3/h] and pressure [kPa]."""
    return Pump(
        flows=tuple(flow * M3_H for flow, _ in points), pressures=tuple(kpa * 1e3 for _, kpa in points),
        delivery=delivery, other_loss=0.0,
    )  # fmt: skip


def test_a_pump_gives_what_the_bed_lets_through() -> None:
    """The root of 20 kPa - 2 kPa per m3/h against Ergun of the clean bed, by scipy."""
    curve = pump((0.0, 20.0), (10.0, 0.0))
    line = Plant(case_of(1e9, 0.0, pump=curve, demand=steady(9.0 * M3_H)), "own").look()
    flow = line.reading(0)[0]

    def left(q: float) -> float:
        return 20e3 - 2e3 * q / M3_H - clean_pressure(q / FILTER.vessel.area)

    assert flow == pytest.approx(brentq(left, 0.0, 9.0 * M3_H, xtol=1e-18), rel=1e-6)


def test_flow_falls_as_the_bed_loads_and_the_rest_is_unmet() -> None:
    result = simulate(case_of(1e9, 0.0, pump=pump((0.0, 12.0), (8.0, 9.0)), days=8.0), "own")
    asked = 5.5 * 24 * 8.0
    assert result.site["unmet_m3"] > 0.0
    assert result.site["treated_m3"] + result.site["unmet_m3"] == pytest.approx(asked, rel=1e-9)
    assert result.runs[-1].end_dp_kpa < 12.0


def test_a_set_point_that_the_pump_cannot_reach_never_trips() -> None:
    low = simulate(case_of(14e3, 0.0, pump=pump((0.0, 12.0), (8.0, 9.0))), "own")
    high = simulate(case_of(14e3, 0.0, pump=pump((0.0, 60.0), (8.0, 40.0))), "own")
    assert low.site["washes"] == 0
    assert high.site["washes"] == simulate(case_of(14e3, 0.0), "own").site["washes"] > 0
    assert math.isclose(high.site["unmet_m3"], simulate(case_of(14e3, 0.0), "own").site["unmet_m3"], rel_tol=1e-6)


def test_without_flow_no_error_of_reading_starts_a_wash() -> None:
    """Readings of nothing, 2.5 standard deviations below the set point: one in 160 is above it, of 17,280 a day.

    The stage before is washed every hour, which cuts the time in which nothing flows.
    """
    stages = (replace(FILTER, name="before"), replace(FILTER, name="own", switch=replace(SWITCH, error=200.0)))
    own = (policy("own", Calendar(every=HOUR, at=0.0), Pressure(above=500.0, hold=0.0), stages=stages),)
    case = make_case(stages=stages, policies=own, demand=steady(0.0), days=3.0)
    result = simulate(case, "own", seed=7)
    assert {entry.who for entry in result.log if entry.what == "wash starts"} == {"before"}
