"""Exact: the run that the triggers are set from is the run that the plant has."""

from dataclasses import replace

import pytest
from sim.write.expected import AT_ONCE, LIMIT, NOTHING, PRESSURE_DROP, Expected, Use, expected_run

from sim.case.records import Case
from sim.case.trigger_records import Calendar, Policy, Pressure, Volume, VolumeReserve
from sim.case.units import DAY, HOUR
from sim.plant.simulate import simulate
from sim.plant.trace import Sample, trace
from sim.write.filters import RISE
from sim.write.writing import NewCase
from tests.write.ten import made

STEADY = {"hours": "24", "days": "7", "temperature": "12 degC"}


def use_of(case: Case, hours: int = 24, days: int = 7, coldest: float = 12.0) -> Use:
    return Use(flow=25.0 / 15850.323141489, hours=hours, days=days, coldest=coldest)


def expected(case: Case, k: int = 0) -> Expected:
    return expected_run(case, k, use_of(case))


def undisturbed(case: Case, expected: Expected) -> tuple[Sample, Sample]:
    """The first stage in the plant, never washed, a second after the start and when the expected run ends."""
    names = [stage.name for stage in case.stages]
    never = Volume(volume=1e8, at=None)
    alone = replace(case, policies=(Policy(name="never", triggers=tuple((name, never) for name in names)),))
    samples = trace(alone, "never", times=[1.0, expected.volume / use_of(case).flow])
    first, last = (each for each in samples if each.stage == names[0])
    return first, last


CASES = [("river", "4 NTU"), ("iron well", "6 NTU"), ("clear well", "2 NTU")]


@pytest.mark.parametrize(("water", "turbidity"), CASES)
def test_expected_run_ends_when_the_plant_comes_to_the_limit(water: str, turbidity: str) -> None:
    case = made(water=water, turbidity=turbidity, **STEADY).case
    run = expected(case)
    assert run.ended_by == LIMIT
    first, last = undisturbed(case, run)
    limit = case.stages[0].limit
    assert last.outlet_mg_l == pytest.approx(limit, rel=1e-4)
    assert first.outlet_mg_l == pytest.approx(run.passing, rel=1e-4)
    assert last.signal_kpa - first.signal_kpa == pytest.approx(run.rise / 1e3, rel=1e-3)
    assert first.signal_kpa == pytest.approx(run.clean / 1e3, rel=1e-4)


def test_expected_run_ends_when_the_plant_comes_to_the_usual_rise() -> None:
    case = made(turbidity="30 NTU", limit="25 NTU", water="lake", **STEADY).case
    run = expected(case)
    assert run.ended_by == PRESSURE_DROP
    first, last = undisturbed(case, run)
    assert last.signal_kpa - first.signal_kpa == pytest.approx(RISE.typical / 1e3, rel=1e-4)
    assert last.outlet_mg_l < (case.stages[0].limit or 0.0)


def test_usual_rise_is_that_of_pressure_filters() -> None:
    """2-4 psi clean and 8-12 psi loaded: MIL-HDBK-1005/9A, for oily waste; so a rise of 4 to 10 psi."""
    assert pytest.approx(4.0 * 6895.0, rel=0.02) == RISE.low
    assert RISE.low < RISE.typical < RISE.high
    assert pytest.approx(10.0 * 6895.0, rel=0.01) == RISE.high


def test_limit_that_a_clean_bed_cannot_keep_is_said() -> None:
    new = made(coagulant="no", **STEADY)
    assert expected(new.case).ended_by == AT_ONCE
    assert "even the clean bed lets more than 0.9 NTU through" in "\n".join(new.remarks)
    assert "even the clean bed" in new.text


def test_short_runs_are_said_with_why() -> None:
    passing = expected(made(coagulant="no", **STEADY).case).passing
    barely = made(coagulant="no", limit=f"{1.01 * passing:.3f} mg/L", **STEADY)
    assert expected(barely.case).ended_by == LIMIT
    assert "media: that is short; the clean bed lets nearly as much through" in "\n".join(barely.remarks)
    small = made(turbidity="190 NTU", limit="150 NTU", **STEADY)
    assert "media: that is short; the filter is small for such water" in small.remarks
    assert "that is short" not in "\n".join(made(**STEADY).remarks)


def test_run_without_an_end_is_said() -> None:
    new = made(turbidity="0.02 NTU", **STEADY)
    assert expected(new.case).ended_by in (NOTHING, PRESSURE_DROP)
    assert new.case.policies[0].triggers[0][1] == Calendar(every=10 * DAY, at=81_300.0)


def triggers(new: NewCase) -> tuple[Calendar, Volume, VolumeReserve, Pressure]:
    calendar, volume, reserve, pressure = (policy.triggers[0][1] for policy in new.case.policies)
    assert isinstance(calendar, Calendar)
    assert isinstance(volume, Volume)
    assert isinstance(reserve, VolumeReserve)
    assert isinstance(pressure, Pressure)
    return calendar, volume, reserve, pressure


@pytest.mark.parametrize("turbidity", ["3 NTU", "6 NTU", "12 NTU"])
def test_triggers_come_a_little_before_the_expected_end(turbidity: str) -> None:
    new = made(turbidity=turbidity, limit="0.22 NTU" if turbidity == "3 NTU" else "1.5 NTU", **STEADY)
    calendar, volume, reserve, pressure = triggers(new)
    run = expected(new.case)
    a_day = 25.0 / 15850.323141489 * DAY
    assert calendar.every <= max(run.volume / a_day, 1.0) * DAY
    assert 0.6 * run.volume < volume.volume < run.volume or calendar.every == 10 * DAY
    assert reserve.volume <= 1.3 * run.volume
    assert 0.0 < reserve.reserve < reserve.volume
    assert run.clean < pressure.above <= 1.005 * (run.clean + max(RISE.typical, run.rise))  # three figures


def test_clean_filter_in_the_coldest_water_does_not_trip() -> None:
    """Otherwise it would be washed without end; every start comes after days of service."""
    case = made(temperature="0..30 degC", days="7", hours="24").case
    result = simulate(replace(case, run=replace(case.run, length=365 * DAY)), "pressure drop")
    runs = [run for run in result.runs if run.cause is not None]
    assert runs
    assert min(run.end_s - run.start_s for run in runs) > DAY


def test_reserve_lasts_until_the_next_wash_hour_of_a_long_run() -> None:
    new = made(turbidity="1 NTU", limit="0.5 NTU")
    reserve = triggers(new)[2]
    assert reserve.reserve >= 25.0 / 15850.323141489 * 12 * HOUR
    result = simulate(replace(new.case, run=replace(new.case.run, length=120 * DAY)), "volume with reserve")
    assert result.site["unmet_m3"] == 0.0  # every wash waits for the hours without use


def test_every_stage_has_the_usual_longest_run_at_the_hour_of_its_calendar() -> None:
    case = made(train="media,carbon,softener").case
    assert [stage.longest_run for stage in case.stages] == [10 * DAY, 14 * DAY, 12 * DAY]
    hours = [trigger.at for _, trigger in case.policies[0].triggers if isinstance(trigger, Calendar)]
    assert [stage.longest_run_at for stage in case.stages] == hours
    assert all(trigger.longest_run is None for policy in case.policies for _, trigger in policy.triggers)
