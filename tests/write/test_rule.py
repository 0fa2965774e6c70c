"""Exact: the run that all four ways are set from is the run that the plant has, and each washes where it says."""

import re
from dataclasses import replace
from itertools import pairwise

import pytest

from sim.case.records import Case
from sim.case.train.records import Vessels
from sim.case.trigger.records import Calendar, Policy, Pressure, Volume, VolumeReserve
from sim.case.units import DAY, HOUR
from sim.plant.records import Cause, FilterRun
from sim.plant.simulate import simulate
from sim.plant.trace import Sample, trace
from sim.write.filters import RISE
from sim.write.rule import MARGIN, End, Ending, endings_of, settings_of, use_of
from sim.write.settled import left_by_washes
from sim.write.ways import _above_comment, ruled_of
from sim.write.writing import NewCase
from tests.plant.builders import FILTER, make_case
from tests.write.ten import made

STEADY = {"hours": "24", "days": "7", "temperature": "12 degC"}
FLOW = 25.0 / 15850.323141489  # m3/s


def ending(case: Case, k: int = 0) -> Ending:
    return endings_of(case)[k]


def washed_at(case: Case, volume: float, days: float) -> list[FilterRun]:
    """Runs of the first filter, each ended by a wash, where a volume starts them."""
    names = [stage.name for stage in case.stages]
    policy = Policy(name="at", triggers=tuple((name, Volume(volume=volume, at=None)) for name in names))
    stages = tuple(replace(stage, longest_run=None) for stage in case.stages)
    alone = replace(case, stages=stages, policies=(policy,), run=replace(case.run, length=days * DAY))
    return [run for run in simulate(alone, "at").runs if run.stage == names[0] and run.cause is Cause.VOLUME]


CASES = [("river", "4 NTU", "0.9 NTU"), ("iron well", "6 NTU", "0.9 NTU"), ("lake", "30 NTU", "25 NTU")]


@pytest.mark.parametrize(("water", "turbidity", "limit"), CASES)
def test_a_bed_washed_many_times_ends_its_run_as_expected(water: str, turbidity: str, limit: str) -> None:
    """The plant is washed after 80 % of it until runs are alike; the last of them goes on to the expected end."""
    case = made(water=water, turbidity=turbidity, limit=limit, **STEADY).case
    run = ending(case)
    runs = washed_at(case, MARGIN * run.volume, 40.0 * MARGIN * run.days)
    begin = runs[24].end_s + sum(step.seconds for step in case.stages[0].steps)
    volume = Policy(name="at", triggers=(("media", Volume(volume=MARGIN * run.volume, at=None)),))
    held = replace(case.stages[0], longest_run=None)
    alone = replace(case, stages=(held,), policies=(volume,), run=replace(case.run, length=begin + 30 * DAY))
    at = [begin + 1.0, begin + 0.999 * MARGIN * run.volume / FLOW]
    first, last = (each for each in trace(alone, "at", times=at) if each.stage == "media")
    assert isinstance(first, Sample)
    assert runs[24].clean_dp_kpa == pytest.approx(runs[23].clean_dp_kpa, rel=1e-3)
    worn, load = run.run, 0.999 * MARGIN * run.load
    assert last.signal_kpa - runs[24].clean_dp_kpa == pytest.approx(worn.rise(load) / 1e3, rel=0.03)
    passing = worn.passing(run.arriving.behind_clean, load) + run.arriving.fine
    assert last.outlet_mg_l == pytest.approx(passing, rel=0.03)


@pytest.mark.parametrize(("water", "turbidity", "limit"), CASES)
def test_what_washes_leave_is_what_the_plant_keeps(water: str, turbidity: str, limit: str) -> None:
    case = made(water=water, turbidity=turbidity, limit=limit, **STEADY).case
    run = ending(case)
    runs = washed_at(case, MARGIN * run.volume, 40.0 * MARGIN * run.days)
    left = left_by_washes(case, run.run, MARGIN * run.load)
    held = sum(each * layer.depth for each, layer in zip(left, case.stages[0].layers, strict=True))
    assert runs[26].residual_g_m2 == pytest.approx(held, rel=0.03)


def test_vessels_in_parallel_share_the_use_and_one_on_standby_does_not() -> None:
    """8 h at 1.8 and 16 h at 5.5 m3/h are 102.4 m3 a day, 51.2 for each of two."""
    for arrangement, part in (("parallel", 2.0), ("duty standby", 1.0)):
        vessels = Vessels(count=2, arrangement=arrangement, inhibit_while_sister_washes=False)  # type: ignore[arg-type]
        use = use_of(make_case(stages=(replace(FILTER, vessels=vessels),)), 0)
        expected = (5.5 / 3600.0 / part, 102.4 / part, 102.4 / part)
        assert (use.flow, use.a_day, use.mean_a_day) == pytest.approx(expected)


def test_a_new_bed_ends_its_run_where_the_laws_say() -> None:
    """At the end by the limit the water is at the limit, by the pressure drop at the usual rise: by definition."""
    by_limit = ending(made(**STEADY).case)
    assert by_limit.by == "the limit"
    limit = made(**STEADY).case.stages[0].limit
    worn, arriving = by_limit.run, by_limit.arriving
    assert worn.passing(arriving.behind_clean, by_limit.load) + arriving.fine == pytest.approx(limit, rel=1e-3)
    by_rise = ending(made(turbidity="30 NTU", limit="25 NTU", water="lake", **STEADY).case)
    assert by_rise.by == "the pressure drop"
    assert by_rise.rise == pytest.approx(RISE.typical, rel=1e-3)


def test_usual_rise_is_that_of_pressure_filters() -> None:
    """2-4 psi clean and 8-12 psi loaded: MIL-HDBK-1005/9A, for oily waste; so a rise of 4 to 10 psi."""
    assert pytest.approx(4.0 * 6895.0, rel=0.02) == RISE.low
    assert RISE.low < RISE.typical < RISE.high
    assert pytest.approx(10.0 * 6895.0, rel=0.01) == RISE.high


def triggers(new: NewCase, k: int = 0) -> tuple[Calendar, Volume, VolumeReserve, Pressure]:
    calendar, volume, reserve, pressure = (policy.triggers[k][1] for policy in new.case.policies)
    assert isinstance(calendar, Calendar)
    assert isinstance(volume, Volume)
    assert isinstance(reserve, VolumeReserve)
    assert isinstance(pressure, Pressure)
    return calendar, volume, reserve, pressure


@pytest.mark.parametrize(("water", "turbidity"), [("river", "3 NTU"), ("lake", "5 NTU"), ("iron well", "4 NTU")])
def test_all_four_ways_wash_after_the_same_share(water: str, turbidity: str) -> None:
    """Steady water and flow: each way's runs take 80 % of what the bed takes, as near as days and hours let them."""
    new = made(water=water, turbidity=turbidity, limit="0.9 NTU", **STEADY)
    run = ending(new.case)
    case = replace(new.case, run=replace(new.case.run, length=30 * MARGIN * run.days * DAY))
    shares = {}
    for policy in case.policies:
        runs = [each for each in simulate(case, policy.name).runs if each.cause is not None][8:]
        assert {each.cause for each in runs}.isdisjoint({Cause.LONGEST_RUN})
        shares[policy.name] = sum(each.volume_m3 for each in runs) / len(runs) / run.volume
    a_day = run.use.a_day / run.volume
    assert shares["volume"] == pytest.approx(MARGIN, abs=0.005)
    assert shares["pressure drop"] == pytest.approx(MARGIN, abs=0.03)
    assert MARGIN - a_day - 0.03 <= shares["calendar"] <= MARGIN + 0.005
    assert shares["volume with reserve"] == pytest.approx(MARGIN, abs=0.5 * a_day + 0.02)


def test_the_limit_is_met_in_the_coldest_water_and_the_pressure_in_the_mean() -> None:
    """By definition: at the end of the run the coldest water is at the limit, and water of the mean is below it."""
    case = made(hours="24", days="7", temperature="4..20 degC").case
    found, limit = ending(case), case.stages[0].limit
    assert found.by == "the limit"
    assert limit is not None
    inflow = found.arriving.behind_clean
    at_4, at_12 = (
        replace(found.run, temperature=degrees).passing(inflow, found.load) + inflow.fine for degrees in (4.0, 12.0)
    )
    assert found.use.temperature == pytest.approx(12.0)
    assert at_12 < at_4 == pytest.approx(limit, rel=1e-3)


@pytest.mark.parametrize("days", [1.3, 1.9, 2.4, 3.7, 4.4, 9.6])
def test_a_reserve_washes_no_later_than_the_rule_where_days_are_alike(days: float) -> None:
    """Counted day by day: 100 m3 a day, washed in the night when only the reserve is left, or when all is gone."""
    run = ending(made(**STEADY).case)
    found = settings_of(replace(run, use=replace(run.use, a_day=100.0, mean_a_day=100.0), volume=100.0 * days))
    volumes, since = [], 0.0
    for _ in range(400):
        for _ in range(100):
            since += 1.0
            if since >= found.total:
                volumes.append(since)
                since = 0.0
        if since >= found.total - found.reserve:
            volumes.append(since)
            since = 0.0
    mean = sum(volumes) / len(volumes)
    assert mean == pytest.approx(100.0 * days * found.reserve_share, rel=0.02)
    assert mean <= 1.03 * MARGIN * 100.0 * days


def test_settings_by_hand() -> None:
    """A bed that takes 10 days of 100 m3: 8 d, 800 m3; the reserve of 110 m3 waits half of a day's 100 m3."""
    run = ending(made(**STEADY).case)
    use = replace(run.use, a_day=100.0, mean_a_day=100.0)
    found = settings_of(replace(run, use=use, volume=1000.0))
    assert (found.every, found.volume, found.total, found.reserve) == (8, 800.0, 860.0, 110.0)
    assert found.every_share == pytest.approx(0.8)
    assert found.reserve_share == pytest.approx(0.8)  # 760 m3 and more at the end of a day: the eighth
    short = settings_of(replace(run, use=use, volume=100.0))
    assert (short.every, short.volume, short.reserve) == (1, 80.0, 30.0)


def test_a_run_shorter_than_a_day_says_that_the_calendar_is_late() -> None:
    new = made(turbidity="60 NTU", limit=None, **STEADY)
    assert triggers(new)[0].every == DAY
    assert "so the calendar comes too late for it" in "\n".join(new.first)
    assert "too late, yet a calendar has no less" in new.text


@pytest.mark.parametrize("limit", ["0.9 NTU", "0.3 NTU"])
def test_a_limit_that_the_clean_bed_cannot_keep_is_kept_and_said_first(limit: str) -> None:
    new = made(coagulant="no", limit=limit, **STEADY)
    assert ending(new.case).breaks
    assert f'limit = "{limit}"' in new.text
    line = "media: over the limit in every hour of use even when clean: its clean bed lets "
    assert new.first[0].startswith(line)
    assert new.text.startswith(f"# First: {line}")
    assert f"where {limit} is the limit" in new.first[0]


@pytest.mark.parametrize("train", ["media", "carbon", "media,carbon", "softener,softener"])
@pytest.mark.parametrize("water", ["river", "town", "lake"])
def test_a_limit_that_nobody_gave_is_kept_by_its_clean_bed(water: str, train: str) -> None:
    """In the plant, the day after the start, in the coldest water: every filter well below its limit."""
    case = made(water=water, train=train, coagulant="no", limit=None, hours="24", days="7", temperature="6 degC").case
    for sample in trace(case, "calendar", times=[HOUR]):
        (limit,) = [stage.limit for stage in case.stages if stage.name == sample.stage]
        assert limit is not None
        assert 1.3 * sample.outlet_mg_l <= limit, sample.stage


@pytest.mark.parametrize("dose", ["60", "200", "600", "1000"])
@pytest.mark.parametrize("turbidity", ["0.5 NTU", "5 NTU"])
def test_no_limit_is_raised_above_the_water_that_comes(dose: str, turbidity: str) -> None:
    new = made(coagulant=f"alum {dose} mg/L", turbidity=turbidity, limit=None, train="media,carbon")
    comes = 1.5 * float(turbidity.split()[0])  # mg/L per NTU of a river
    for stage, run in zip(new.case.stages, endings_of(new.case), strict=True):
        assert stage.limit is not None
        assert stage.limit <= comes
        if run.passing >= comes:
            assert any(line.startswith(f"{stage.name}: over the limit in every hour of use") for line in new.first)


@pytest.mark.parametrize(("use", "drunk"), [("drinking", True), ("process", False)])
def test_a_limit_that_was_raised_is_said(use: str, drunk: bool) -> None:
    new = made(coagulant="no", limit=None, turbidity="4 NTU", use=use)
    (said,) = [remark for remark in new.remarks if "since its clean bed cannot keep 0.8 NTU" in remark]
    (limit,) = re.findall(r'^limit = "(.*?)"', new.text, re.MULTILINE)
    assert said.startswith(f"media: its limit is {limit}, since")
    assert ("the limit of local codes" in said) == drunk
    assert not any("its limit is" in remark for remark in made(limit=None).remarks)


def test_a_given_limit_holds_where_the_water_is_judged_and_earlier_ones_are_what_can_be_kept() -> None:
    case = made(train="media,media", coagulant="no", limit="0.9 NTU").case
    first, last = (stage.limit for stage in case.stages)
    assert first is not None
    assert last == pytest.approx(0.9 * 1.5)  # mg/L per NTU of a river
    assert first > last
    assert "it cannot keep 0.9 NTU" in made(train="media,media", coagulant="no", limit="0.9 NTU").text


def test_a_pressure_drop_that_cannot_show_the_deposit_is_said_first() -> None:
    """A softener lets untreated water through long before its resin resists it."""
    words = "softener: its pressure drop rises too little to show when to wash it"
    new = made(train="softener", water="lake", coagulant="no", limit=None)
    assert new.first[0].startswith(words)
    assert new.text.startswith(f"# First: {words}")
    assert not any(line.startswith("media: its pressure drop rises") for line in made(**STEADY).first)


def test_short_runs_are_said_with_why() -> None:
    passing = ending(made(coagulant="no", **STEADY).case).passing
    barely = made(coagulant="no", limit=f"{1.01 * passing:.3f} mg/L", **STEADY)
    assert ending(barely.case).by == "the limit"
    assert "that is short: its clean bed lets nearly as much through" in "\n".join(barely.remarks)
    small = made(turbidity="190 NTU", limit="170 NTU", **STEADY)
    assert "that is short: the filter is small for such water" in "\n".join(small.remarks)
    assert "that is short" not in "\n".join(made(**STEADY).remarks)


def test_the_first_run_of_a_calendar_is_as_long_as_the_next() -> None:
    """Under a limit of one day's use: from midnight on, the first run would have lasted into the second evening."""
    used = {"depth": None, "backwash": None, "limit": None, "flow": "6.5 m3/h", "diameter": "0.9 m"}
    case = made(turbidity="9 NTU", hours="14", days="7", temperature="6..21 degC", **used).case
    assert triggers(made(turbidity="9 NTU", hours="14", days="7", temperature="6..21 degC", **used))[0].every == DAY
    result = simulate(replace(case, run=replace(case.run, length=20 * DAY)), "calendar")
    first, *others = (run for run in result.runs if run.cause is Cause.CALENDAR)
    assert first.volume_m3 == pytest.approx(others[0].volume_m3, rel=0.03)
    assert result.site["over_limit_h"] == 0.0


def test_runs_shorter_than_a_day_are_said_of_the_volume_ways_too() -> None:
    short = made(turbidity="60 NTU", limit=None, **STEADY)
    assert short.first[0].endswith("and the volume ways wash it within the hours of use")


@pytest.mark.parametrize(("units", "least"), [("si", "20 kPa"), ("us", "2.9 psi")])
def test_a_set_point_lower_than_usual_switches_go_is_said(units: str, least: str) -> None:
    """20 kPa above the washed bed: common practice, from memory; 20 / 6.895 = 2.9 psi."""
    low = made(units=units, limit="0.7 NTU", **STEADY)
    pressure = triggers(low)[3].above - settings_of(ending(low.case)).clean
    assert pressure < 20e3
    words = f"usual switches begin at {least} (common practice, from memory): look up yours"
    assert words in low.text
    assert any(remark.endswith(words) for remark in low.remarks)
    high = made(turbidity="30 NTU", limit="25 NTU", water="lake", units=units, **STEADY)
    assert triggers(high)[3].above - settings_of(ending(high.case)).clean > 20e3
    assert "usual switches" not in "\n".join((high.text, *high.remarks))


def test_a_filter_that_its_longest_run_washes_is_said_first() -> None:
    """10 d is usual for the media: every way is set to 80 % of it, and none is a choice."""
    new = made(turbidity="0.02 NTU", **STEADY)
    assert ending(new.case).by == "the longest run"
    assert triggers(new)[0].every == 8 * DAY
    words = "media: always washed by its longest run, 10 d, or a little before"
    assert new.first[0].startswith(words)
    assert new.text.startswith(f"# First: {words}")
    assert "nothing to choose between the ways for it" in new.first[0]


def test_a_set_point_later_than_the_longest_run_never_acts_and_later_than_the_limit_comes_late() -> None:
    """The longest run ends a run whatever a gauge reads, a limit does not; ten times as late is never."""
    (ruled,) = ruled_of(made().case, ["0.9 NTU"])

    def told(by: End, share: float) -> str:
        changed = replace(ruled.settings, above_share=share)
        return _above_comment(replace(ruled, ending=replace(ruled.ending, by=by), settings=changed), "si")

    for by, share in (("the longest run", 1.5), ("the limit", 11.0)):
        assert told(by, share).endswith("its runs end before it acts")
    assert "; it comes late, " in told("the limit", 1.5)
    for by in ("the longest run", "the limit"):
        assert not re.search("comes late|before it acts", told(by, 0.9))


def test_clean_filter_in_the_coldest_water_does_not_trip() -> None:
    """Otherwise it would be washed without end; every start comes after days of service."""
    case = made(temperature="0..30 degC", days="7", hours="24").case
    result = simulate(replace(case, run=replace(case.run, length=365 * DAY)), "pressure drop")
    runs = [run for run in result.runs if run.cause is not None]
    assert runs
    assert min(run.end_s - run.start_s for run in runs) > DAY


def test_a_reserve_washes_outside_the_hours_of_use() -> None:
    new = made(turbidity="1 NTU", limit="0.5 NTU")
    result = simulate(replace(new.case, run=replace(new.case.run, length=120 * DAY)), "volume with reserve")
    assert result.site["unmet_m3"] == 0.0


def test_every_stage_has_the_usual_longest_run_at_the_hour_of_its_calendar() -> None:
    case = made(train="media,carbon,softener").case
    assert [stage.longest_run for stage in case.stages] == [10 * DAY, 14 * DAY, 12 * DAY]
    hours = [trigger.at for _, trigger in case.policies[0].triggers if isinstance(trigger, Calendar)]
    assert [stage.longest_run_at for stage in case.stages] == hours
    assert all(trigger.longest_run is None for policy in case.policies for _, trigger in policy.triggers)


def test_later_filters_meet_what_used_beds_let_through() -> None:
    """More than clean beds in the mean, and most at the end of their runs: capture only falls as a bed fills."""
    media, carbon = endings_of(made(train="media,carbon", coagulant="no", limit=None, **STEADY).case)
    assert media.arriving.clean == media.arriving.mean == media.arriving.worst
    assert carbon.arriving.clean < carbon.arriving.mean < carbon.arriving.worst
    shares = [media.run.passing(media.arriving.behind_clean, 0.1 * i * MARGIN * media.load) for i in range(11)]
    mean = sum(0.5 * (left + right) for left, right in pairwise(shares)) / 10.0
    fine = carbon.arriving.clean - media.passing + media.arriving.fine
    assert carbon.arriving.mean - fine == pytest.approx(mean, rel=0.01)
