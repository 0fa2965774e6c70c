"""What fails in a run, by hand: logs of the washes that a failed meter, switch, clock, supply or power leaves."""

import math
from typing import Any

import pytest

from sim.case.chemistry.records import Store
from sim.case.fault.records import NUMBER_OF, STAYS, Fault, Valve, What
from sim.case.records import Case
from sim.case.train.records import ByHand, Downstream, HoldUnit, HoursOfDay, Tank, Unit, Vessels, Washing
from sim.case.trigger.records import Calendar, Clock, Pressure, Trigger, Volume, VolumeLearned, VolumeReserve
from sim.case.wash.records import Supply
from sim.plant.meter import SWITCHES
from sim.plant.records import RunResult
from sim.plant.simulate import Plant, simulate
from tests.plant.builders import DAY, EXACT_FLOW, FILTER, HOUR, M3_H, MINUTE, make_case, policy, replace, steady
from tests.plant.fakes import wash_starts
from tests.plant.solute_builders import CHLORINE, MAKE_UP, SOFTENER, well

BACKWASH, RINSE = 10 * MINUTE, 6 * MINUTE  # at 17 and at 9 m3/h
WASH = BACKWASH + RINSE
WASHED, RINSED = 17.0 / 6.0, 0.9  # m3
NEVER = Calendar(every=365 * DAY, at=0.0)
EVERY_OTHER_DAY = Calendar(every=2 * DAY, at=3 * HOUR)
FIRST = 2 * DAY + 3 * HOUR  # of its washes
SIXTH_MINUTE = FIRST + 5.5 * MINUTE
MAINS = Supply(flows=(0.0, 100 * M3_H), pressures=(1e7, 1e7), pipe=None, shared_with_service=False)

Log = list[tuple[float, str, str]]


def fault(what: What, start: float = 0.0, end: float = math.inf, **number: Any) -> Fault:
    return Fault(what=what, stage="filter", start=start, end=end, **number)


def cut(start: float, hours: float = 3.0, valve: Valve = "frozen") -> Fault:
    return Fault(what=What.POWER_CUT, stage=None, start=start, end=start + hours * HOUR, valve=valve)


def case_of(trigger: Trigger, *faults: Fault, **given: Any) -> Case:
    """A steady 3.5 m3/h through one filter; what a stage has goes to it."""
    of_stage = ("longest_run", "least_interval", "clock", "hold_unit", "vessels")
    stage = replace(FILTER, **{name: given.pop(name) for name in of_stage if name in given})
    base = {"policies": (policy("own", trigger),), "demand": steady(EXACT_FLOW), "days": 12.0}
    return make_case(**(base | {"stages": (stage,), "faults": faults} | given))


def run(trigger: Trigger, *faults: Fault, **given: Any) -> RunResult:
    return simulate(case_of(trigger, *faults, **given), "own")


def log_of(result: RunResult, begin: float = 0.0, end: float = math.inf) -> Log:
    """What happens from one moment up to another [s], and why."""
    return [(e.time_s, e.what, e.why.value) for e in result.log if begin <= e.time_s < end]


def starts_of(result: RunResult) -> list[float]:
    return [time for time, _ in wash_starts(result)]


def drained(result: RunResult) -> list[float]:
    """The water that each step of a wash sent to drain [m3]."""
    return [e.volume_m3 for e in result.log if e.volume_m3 is not None and e.what != "wash starts"]


def a_wash(start: float, why: str = "calendar", held: float = 0.0) -> Log:
    """The log of a wash, a backwash that stands for some time [s] among it."""
    return [
        (start, "wash starts", why),
        (start + BACKWASH + held, "backwash ends", "time up"),
        (start + WASH + held, "rinse ends", "time up"),
        (start + WASH + held, "back in service", "time up"),
    ]


# Meters


def volume_of(days: float, at: float | None = None) -> Volume:
    """Of so many days of service."""
    return Volume(volume=EXACT_FLOW * days * DAY, at=at)


def test_with_a_stuck_meter_the_longest_run_is_left() -> None:
    stuck = run(volume_of(1.0), fault(What.METER_STUCK), longest_run=3 * DAY)
    assert log_of(stuck) == [
        (0.0, "begins: meter stuck", "as the case says"),
        *a_wash(3 * DAY, "longest run"), *a_wash(6 * DAY, "longest run"), *a_wash(9 * DAY, "longest run"),
        (12 * DAY, "run ends", "run ended"),
    ]  # fmt: skip


@pytest.mark.parametrize("trigger", [
    volume_of(1.0, at=3 * HOUR),
    VolumeReserve(volume=EXACT_FLOW * DAY, reserve=50.0, at=3 * HOUR),
    VolumeLearned(volume=EXACT_FLOW * DAY, reserve=0.0, quantile=0.9, days=3, by="trailing", at=3 * HOUR),
])  # fmt: skip
def test_and_no_other_wash_than_with_a_volume_that_is_never_treated(trigger: Any) -> None:
    """At the last 3 h before three days have passed since the start of the run, then three days after each wash."""
    stuck = run(trigger, fault(What.METER_STUCK), longest_run=3 * DAY)
    assert log_of(stuck)[1:] == log_of(run(replace(trigger, volume=1e6), longest_run=3 * DAY))
    assert starts_of(stuck) == [FIRST, FIRST + 3 * DAY, FIRST + 6 * DAY, FIRST + 9 * DAY]


def test_a_meter_that_reads_low_washes_at_more_of_the_volume() -> None:
    """At 1 / 0.9 of it, wash after wash; nobody says at what hour."""
    starts = starts_of(run(volume_of(0.9), fault(What.METER_WRONG, share=0.9)))
    assert starts == pytest.approx([DAY + n * (DAY + WASH) for n in range(11)], rel=1e-12)


def test_a_meter_that_reads_high_washes_sooner_from_when_it_does() -> None:
    """Half of the volume at 1, the other half at 1.25 times what passes."""
    starts = starts_of(run(volume_of(1.0), fault(What.METER_WRONG, 0.5 * DAY, share=1.25), days=1.5))
    assert starts == pytest.approx([0.9 * DAY], rel=1e-12)


def test_a_mended_meter_goes_on_from_what_it_showed() -> None:
    """Six hours of a day not counted: the wash comes six hours late, the next one in time."""
    starts = starts_of(run(volume_of(1.0), fault(What.METER_STUCK, 0.5 * DAY, 0.75 * DAY), days=3.0))
    assert starts == pytest.approx([1.25 * DAY, 2.25 * DAY + WASH], rel=1e-12)


def test_two_faults_of_a_meter_act_together() -> None:
    starts = starts_of(
        run(volume_of(0.9), fault(What.METER_WRONG, share=0.9), fault(What.METER_STUCK, 0.5 * DAY, DAY), days=2.0)
    )
    assert starts == pytest.approx([1.5 * DAY], rel=1e-12)


def test_a_learned_reserve_believes_its_meter() -> None:
    """Days of 100 that look like 50: with half of them as reserve, a volume of 240 is spent at 480."""
    daily = EXACT_FLOW * DAY
    trigger = VolumeLearned(volume=2.4 * daily, reserve=0.0, quantile=0.9, days=2, by="trailing", at=3 * HOUR)
    right, low = (run(trigger, *each) for each in ((), (fault(What.METER_WRONG, share=0.5),)))
    # At 3 h of day 2 half a day is shown as 1.06 of the daily volume; 1.9 of 2.4 at day 4 leaves 0.5 or less.
    assert starts_of(right)[0] == FIRST
    assert starts_of(low)[0] == 4 * DAY + 3 * HOUR


# Switches

SWITCH = Pressure(above=14e3, hold=10 * MINUTE)
AT_ONCE = Pressure(above=14e3, hold=0.0)


def set_to(above: float, hold: float = 10 * MINUTE) -> list[float]:
    return starts_of(run(Pressure(above=above, hold=hold), days=30.0))


def test_with_a_switch_stuck_open_the_longest_run_is_left() -> None:
    result = run(SWITCH, fault(What.SWITCH_OPEN, DAY), longest_run=3 * DAY)
    assert wash_starts(result) == [(n * 3 * DAY, "longest run") for n in (1, 2, 3)]


def test_a_switch_stuck_closed_washes_once_every_hold_and_wash() -> None:
    result = run(SWITCH, fault(What.SWITCH_CLOSED, DAY, DAY + 2 * HOUR), days=3.0)
    assert wash_starts(result) == [
        (DAY + 10 * MINUTE + n * (10 * MINUTE + WASH), "pressure drop") for n in range(5)
    ]


def test_or_once_every_least_interval_where_that_is_longer() -> None:
    """The fourth was due before the switch was mended, and is still owed."""
    result = run(SWITCH, fault(What.SWITCH_CLOSED, DAY, DAY + 10 * HOUR), least_interval=4 * HOUR, days=3.0)
    assert starts_of(result) == [DAY + 10 * MINUTE + n * 4 * HOUR for n in range(4)]


def test_a_switch_stuck_closed_washes_vessels_in_turn_and_none_while_another_is_off_line() -> None:
    """Each waits for the return of the one before it and for its hold."""
    result = run(SWITCH, fault(What.SWITCH_CLOSED, DAY, DAY + 2 * HOUR), vessels=Vessels(count=2))
    washes = [(e.time_s, e.who) for e in result.log if e.what == "wash starts"]
    assert washes == [
        (DAY + 10 * MINUTE + n * (10 * MINUTE + WASH), f"filter {1 + n % 2}") for n in range(5)
    ]


def test_a_plugged_tap_is_a_higher_set_point() -> None:
    assert starts_of(run(SWITCH, fault(What.TAP_PLUGGED, share=0.5), days=30.0)) == set_to(28e3)
    assert starts_of(run(SWITCH, fault(What.TAP_PLUGGED, share=0.0), days=30.0)) == []


def test_chattering_delays_a_switch_with_a_hold_and_hastens_one_without() -> None:
    chatters = fault(What.SWITCH_CHATTERS, by=2e3)
    assert starts_of(run(SWITCH, chatters, days=30.0)) == set_to(16e3)
    assert starts_of(run(AT_ONCE, chatters, days=30.0)) == set_to(12e3, 0.0)


def test_faults_of_a_switch_act_in_the_order_of_the_case() -> None:
    """A drop of 32 is 16 behind the plugged tap, and 14 at the worst of the chatter; the other way round 28 + 2."""
    plugged, chatters = fault(What.TAP_PLUGGED, share=0.5), fault(What.SWITCH_CHATTERS, by=2e3)
    assert starts_of(run(SWITCH, plugged, chatters, days=30.0)) == set_to(32e3)
    assert starts_of(run(SWITCH, chatters, plugged, days=30.0)) == set_to(30e3)


def test_a_drifting_switch_trips_where_what_it_reads_is_its_set_point() -> None:
    """2,400 Pa a day are 100 Pa every hour."""
    case = case_of(AT_ONCE, fault(What.SWITCH_DRIFTS, by=2400.0))
    (first, *_) = starts_of(simulate(case, "own"))
    plant = Plant(case, "own")
    plant.run_until(first)
    assert plant.look().reading(0)[1] + 100.0 * math.floor(first / HOUR) >= 14e3 * (1.0 - 1e-9)
    plant = Plant(case, "own")
    plant.run_until(first - 10.0)
    assert plant.look().reading(0)[1] + 100.0 * math.floor((first - 10.0) / HOUR) < 14e3
    assert first < set_to(14e3, 0.0)[0]


def test_a_mended_switch_holds_anew() -> None:
    """Stuck closed for eight of its ten minutes it starts nothing, and not before its set point then."""
    starts = starts_of(run(SWITCH, fault(What.SWITCH_CLOSED, DAY, DAY + 8 * MINUTE), days=30.0))
    assert starts == pytest.approx(set_to(14e3), rel=1e-12)


# Clocks


def test_a_clock_that_is_ahead_washes_by_what_it_shows() -> None:
    """Two hours ahead from day 1 to day 5: at 1 h, then at 3 h again."""
    result = run(EVERY_OTHER_DAY, fault(What.CLOCK_WRONG, DAY, 5 * DAY, by=2 * HOUR))
    assert [time / HOUR for time in starts_of(result)] == [49.0, 97.0, 147.0, 195.0, 243.0]


def test_an_hour_that_a_clock_shows_twice_washes_once() -> None:
    """Put back by two hours half an hour after its wash began."""
    result = run(EVERY_OTHER_DAY, fault(What.CLOCK_WRONG, FIRST + HOUR, by=-2 * HOUR))
    assert [time / HOUR for time in starts_of(result)] == [51.0, 101.0, 149.0, 197.0, 245.0]


def test_a_booked_hour_is_one_of_the_clock() -> None:
    """Booked at noon for 3 h; at midnight the clock is put an hour back."""
    result = run(volume_of(0.5, at=3 * HOUR), fault(What.CLOCK_WRONG, DAY, by=-HOUR), days=1.5)
    assert log_of(result, end=DAY + 5 * HOUR)[:3] == [
        (0.5 * DAY, "wash booked", "trigger met"),
        (DAY, "begins: clock wrong", "as the case says"),
        (DAY + 4 * HOUR, "wash starts", "volume"),
    ]


def test_a_learned_reserve_is_read_by_the_clock() -> None:
    """An hour ahead from midnight on: the second reading comes after 23 h, and each one once."""
    trigger = VolumeLearned(volume=1e3, reserve=0.0, quantile=1.0, days=1, by="trailing", at=3 * HOUR)
    case = case_of(trigger, fault(What.CLOCK_WRONG, DAY, by=HOUR), days=3.0)
    plant = Plant(case, "own")
    plant.run_until(3 * DAY)
    (readings,) = plant._filters[0]._readings.values()
    assert readings == [EXACT_FLOW * hours * HOUR for hours in (3.0, 26.0, 50.0)]


# Power


def test_a_backwash_whose_supply_outlives_the_cut_runs_on() -> None:
    """For three hours of it, beside the planned wash."""
    supply = replace(MAINS, outlives_power_cut=True)
    result = run(EVERY_OTHER_DAY, cut(SIXTH_MINUTE), supply=supply, days=3.0)
    wash = a_wash(FIRST, held=3 * HOUR)
    assert log_of(result) == [
        wash[0],
        (SIXTH_MINUTE, "begins: power cut", "as the case says"),
        (SIXTH_MINUTE + 3 * HOUR, "over: power cut", "as the case says"),
        *wash[1:],
        (3 * DAY, "run ends", "run ended"),
    ]
    assert drained(result) == pytest.approx([WASHED + 17.0 * 3.0, RINSED], rel=1e-12)
    assert result.site["unmet_m3"] == pytest.approx(EXACT_FLOW * (WASH + 3 * HOUR), rel=1e-9)


@pytest.mark.parametrize("supply", [MAINS, None])
def test_a_backwash_by_the_pump_of_the_site_stands(supply: Supply | None) -> None:
    result = run(EVERY_OTHER_DAY, cut(SIXTH_MINUTE), supply=supply, days=3.0)
    assert log_of(result)[3:-1] == a_wash(FIRST, held=3 * HOUR)[1:]
    assert drained(result) == pytest.approx([WASHED, RINSED], rel=1e-12)
    assert result.wash_flows["filter"][0] == pytest.approx(17.0 * M3_H, rel=1e-12)
    assert (result.site["washes"], result.stages["filter"]["washes"]) == (1, 1)


@pytest.mark.parametrize("after", ["return", "wash again"])
def test_valves_that_go_home_break_the_wash_off(after: Any) -> None:
    """What follows waits for the power; the next wash is that of the calendar."""
    back = SIXTH_MINUTE + 3 * HOUR
    result = run(
        EVERY_OTHER_DAY, cut(SIXTH_MINUTE, valve="home"), supply=replace(MAINS, outlives_power_cut=True),
        washing=Washing(after_abort=after), days=3.0,
    )  # fmt: skip
    again = [
        (back, "washes again", "broken off"), *a_wash(back)[1:],
    ]  # fmt: skip
    assert log_of(result) == [
        (FIRST, "wash starts", "calendar"),
        (SIXTH_MINUTE, "begins: power cut", "as the case says"),
        (SIXTH_MINUTE, "backwash broken off", "power cut"),
        (back, "over: power cut", "as the case says"),
        *(again if after == "wash again" else [(back, "back in service", "time up")]),
        (3 * DAY, "run ends", "run ended"),
    ]
    begun = 17.0 * 5.5 / 60.0
    assert drained(result) == pytest.approx([begun] if after == "return" else [begun, WASHED, RINSED], rel=1e-12)


def test_a_cut_is_no_wash_and_its_hours_pass_by() -> None:
    """That of day 2 falls into the cut; the calendar comes to its next hour."""
    result = run(EVERY_OTHER_DAY, cut(FIRST - HOUR), days=4.0)
    assert log_of(result)[:3] == [
        (FIRST - HOUR, "begins: power cut", "as the case says"),
        (FIRST + 2 * HOUR, "over: power cut", "as the case says"),
        (FIRST + DAY, "wash starts", "calendar"),
    ]


def test_no_wash_starts_by_hand_in_a_cut() -> None:
    by_hand = Washing(by_hand=(ByHand(stage="filter", at=DAY + HOUR),))
    result = run(NEVER, cut(DAY), washing=by_hand, days=2.0)
    assert wash_starts(result) == [(DAY + 3 * HOUR, "by hand")]


def test_a_wash_that_waits_for_its_hours_as_the_power_goes_waits_for_both() -> None:
    result = run(EVERY_OTHER_DAY, cut(FIRST + HOUR), washing=Washing(least_interval=HOUR), days=6.0,
                 least_interval=2 * DAY + 2 * HOUR)  # fmt: skip
    assert starts_of(result)[:2] == [FIRST, 2 * FIRST - HOUR]


def test_a_wash_put_off_into_a_cut_is_told_so_and_starts_after_it() -> None:
    """Due at noon, allowed from 22 h, the power off from 21 to 24 h."""
    allowed = Washing(allowed_hours=(HoursOfDay(start=22 * HOUR, end=6 * HOUR),))
    result = run(volume_of(0.5), cut(21 * HOUR), washing=allowed, days=1.5)
    assert log_of(result)[:5] == [
        (12 * HOUR, "wash put off", "outside the hours that the site allows"),
        (21 * HOUR, "begins: power cut", "as the case says"),
        (22 * HOUR, "wash put off", "power cut"),
        (24 * HOUR, "over: power cut", "as the case says"),
        (24 * HOUR, "wash starts", "volume"),
    ]


def test_a_hold_starts_anew_after_a_cut() -> None:
    """The set point is met two minutes before the cut, which takes nothing but time from the bed."""
    (without, *_) = set_to(14e3)
    result = run(SWITCH, cut(without - 8 * MINUTE), days=30.0)
    assert starts_of(result)[0] == pytest.approx(without + 2 * MINUTE + 3 * HOUR, abs=1e-6)


@pytest.mark.parametrize(("keeps", "first"), [(True, FIRST), (False, FIRST + 3 * HOUR)])
def test_a_clock_may_lose_the_time_of_a_cut(keeps: bool, first: float) -> None:
    assert starts_of(run(EVERY_OTHER_DAY, cut(DAY), clock=Clock(keeps_time=keeps)))[0] == first


@pytest.mark.parametrize("valve", ["frozen", "home"])
def test_the_unit_is_held_and_released_once(valve: Valve) -> None:
    tank = Tank(volume=500.0, start_below=100.0, stop_above=400.0, level=300.0)
    unit = Unit(feed_flow=8 * M3_H, recovery=0.75, tank=tank)
    below = Downstream(membrane=None, unit=unit, feed_limit=None, cartridge=None)
    result = run(EVERY_OTHER_DAY, cut(SIXTH_MINUTE, valve=valve), downstream=below, hold_unit=HoldUnit(), days=3.0)
    released = SIXTH_MINUTE if valve == "home" else FIRST + WASH + 3 * HOUR
    assert [(e.time_s, e.what) for e in result.log if "unit" in e.what] == [
        (FIRST, "unit held"), (released, "unit released"),
    ]  # fmt: skip


# The supply and the drain of washes


@pytest.mark.parametrize(("what", "why", "rinsed"), [
    (What.SUPPLY_WEAK, "supply gives less than asked for", RINSED),
    (What.DRAIN_RESTRICTED, "drain takes less than asked for", 0.4 * RINSED),
])  # fmt: skip
def test_a_wash_is_weakened_on_the_way_and_the_log_names_by_what(what: What, why: str, rinsed: float) -> None:
    weak = Fault(what=what, stage=None, start=FIRST + 4 * MINUTE, end=3 * DAY, share=0.4)
    result = run(EVERY_OTHER_DAY, weak, days=3.5)
    wash = a_wash(FIRST)
    rinse_short = [(FIRST + BACKWASH, "rinse short of water", why)] if what is What.DRAIN_RESTRICTED else []
    assert log_of(result) == [
        wash[0],
        (FIRST + 4 * MINUTE, f"begins: {what.value}", "as the case says"),
        (FIRST + 4 * MINUTE, "backwash short of water", why),
        wash[1], *rinse_short, *wash[2:],
        (3 * DAY, f"over: {what.value}", "as the case says"),
        (3.5 * DAY, "run ends", "run ended"),
    ]  # fmt: skip
    assert drained(result) == pytest.approx([17.0 / 60.0 * (4.0 + 0.4 * 6.0), rinsed], rel=1e-12)


# Salt


def softened(*faults: Fault, make_up: bool = False, **given: Any) -> RunResult:
    steps = (*SOFTENER.steps, MAKE_UP) if make_up else SOFTENER.steps
    stage = replace(SOFTENER, steps=steps, store=Store(solubility=3.6e5, dissolving=HOUR), **given)
    if make_up:
        stage = replace(stage, steps=tuple(replace(s, salt=None) for s in stage.steps))
    trigger = Calendar(every=2 * DAY, at=3 * HOUR)
    named = tuple(replace(each, stage="softener") for each in faults)
    case = make_case(
        stages=(stage,), policies=(policy("own", trigger, stages=(stage,)),), demand=steady(1.0 * M3_H),
        feed=well(0.0, hardness=200.0), faults=named, days=9.0,
    )  # fmt: skip
    return simulate(case, "own")


def restored(result: RunResult) -> list[bool]:
    """Whether each regeneration gave something back."""
    told = [e for e in result.log if e.free_before is not None and e.free_after is not None]
    return [(e.free_after or 0.0) > (e.free_before or 0.0) for e in told]


def emptied(result: RunResult) -> list[float]:
    return [e.time_s for e in result.log if e.what == "store is empty"]


def test_without_salt_a_regeneration_restores_nothing_until_some_is_filled_in() -> None:
    result = softened(fault(What.SALT_OUT, 3 * DAY, 7 * DAY))
    assert restored(result) == [True, False, False, True]
    assert len(emptied(result)) == 2


def test_what_is_dissolved_serves_once_more() -> None:
    """The tank holds one make-up of brine as the salt runs out on day 3: that of day 4 is whole, of day 6 weak."""
    result = softened(fault(What.SALT_OUT, 3 * DAY), make_up=True)
    assert restored(result)[:3] == [True, True, False]


def test_brine_that_is_not_drawn_leaves_the_store_full() -> None:
    """The step runs with water; no make-up goes into a tank that is full, and nobody says that it is empty."""
    result = softened(fault(What.BRINE_NOT_DRAWN, 3 * DAY, 5 * DAY), make_up=True)
    assert restored(result) == [True, False, True, True]
    assert emptied(result) == []
    right = softened(make_up=True)
    assert (right.site["makeup_m3"] or 0.0) - (result.site["makeup_m3"] or 0.0) == pytest.approx(0.04)


# All of it


ALL = (
    fault(What.METER_WRONG, 0.2 * DAY, 2.1 * DAY, share=0.7),
    fault(What.SWITCH_DRIFTS, 1.5 * DAY, 6 * DAY, by=900.0),
    cut(FIRST + 2 * MINUTE),
    fault(What.CLOCK_WRONG, 3 * DAY, 8 * DAY, by=-50 * MINUTE),
    Fault(what=What.SUPPLY_WEAK, stage=None, start=4 * DAY, end=7 * DAY, share=0.6),
    cut(6 * DAY + 3.1 * HOUR, valve="home"),
    fault(What.TAP_PLUGGED, 7 * DAY, share=0.8),
)
BOTH = VolumeReserve(volume=150.0, reserve=50.0, at=3 * HOUR)


def test_a_run_in_parts_is_the_run_in_one_to_the_bit() -> None:
    case = case_of(BOTH, *ALL, clock=Clock(drift=40.0, keeps_time=False))
    whole, plant = simulate(case, "own"), Plant(case, "own")
    for stop in (0.2 * DAY, FIRST + 2 * MINUTE, FIRST + HOUR, 3 * DAY, 4.01 * DAY, 6 * DAY + 4 * HOUR, 7 * DAY):
        plant.run_until(stop)
        plant.shown(0)
    plant.run_until(case.run.length)
    parts = plant.result()
    assert (parts.log, parts.runs, parts.site) == (whole.log, whole.runs, whole.site)


def test_one_that_ends_comes_before_one_that_begins() -> None:
    two = fault(What.METER_STUCK, 2 * DAY, 3 * DAY), fault(What.METER_WRONG, 1 * DAY, 2 * DAY, share=0.5)
    assert [e.what for e in run(NEVER, *two).log][:4] == [
        "begins: meter reads wrong", "over: meter reads wrong", "begins: meter stuck", "over: meter stuck",
    ]  # fmt: skip


def test_what_a_person_reads() -> None:
    """A meter that counts 0.9, half of the pressure drop, hours since the wash, a clock 10 min ahead."""
    failed = (
        fault(What.METER_WRONG, share=0.9), fault(What.TAP_PLUGGED, share=0.5), fault(What.CLOCK_WRONG, by=600.0),
    )  # fmt: skip
    plant = Plant(case_of(EVERY_OTHER_DAY, *failed), "own")
    plant.run_until(3 * DAY)
    shown, line = plant.shown(0), plant.look()
    assert shown.total == pytest.approx(0.9 * EXACT_FLOW * (3 * DAY - WASH), rel=1e-12)
    assert shown.dp_pa == pytest.approx(0.5 * line.reading(0)[1])
    assert (shown.since_wash_s, shown.clock_reading) == (3 * DAY - (FIRST - 10 * MINUTE), 3 * DAY + 10 * MINUTE)


# The train itself: what each verb does to the water is held elsewhere

SITE_WIDE = (What.POWER_CUT, What.SUPPLY_WEAK, What.DRAIN_RESTRICTED)
TRIPS = 9.5e3  # Pa, after 18 h
OF_A_SHARE = {each: 0.3 for each, number in NUMBER_OF.items() if number == "share"}


@pytest.mark.parametrize("what", list(What))
def test_whatever_fails_is_told_changes_something_and_its_books_close(what: What) -> None:
    """On a softener by its switch or by volume at an hour, with a dose ahead of it.

    `simulate` refuses books that do not close.
    """
    stage = replace(
        SOFTENER, dosing=CHLORINE, layers=(replace(SOFTENER.layers[0], filter_coefficients=(3.0,)),),
        longest_run=2 * DAY,
    )  # fmt: skip
    by_switch = what in SWITCHES
    trigger: Trigger = Pressure(above=TRIPS, hold=HOUR) if by_switch else Volume(volume=20.0, at=3 * HOUR)
    number = NUMBER_OF.get(what)
    failed = Fault(
        what=what, stage=None if what in SITE_WIDE else "softener", start=DAY + HOUR,
        end=math.inf if what in STAYS else 4 * DAY,
        share=OF_A_SHARE.get(what), by=900.0 if number == "by" else None, valve="home" if number == "valve" else None,
    )  # fmt: skip
    case = make_case(
        stages=(stage,), policies=(policy("own", trigger, stages=(stage,)),), demand=steady(1.0 * M3_H),
        feed=well(3.0, hardness=200.0), days=6.0,
    )  # fmt: skip
    right, wrong = (simulate(replace(case, faults=faults), "own") for faults in ((), (failed,)))
    told = [(e.time_s, e.who, e.what) for e in wrong.log if e.fault is not None]
    who = "site" if what in SITE_WIDE else "softener"
    ends = [] if what in STAYS else [(4 * DAY, who, f"over: {what.value}")]
    assert told == [(DAY + HOUR, who, f"begins: {what.value}"), *ends]
    assert wrong.site != right.site
    before, otherwise = (log_of(each, end=DAY + HOUR) for each in (wrong, right))
    assert [each[1:] for each in before] == [each[1:] for each in otherwise]
    assert [time for time, *_ in before] == pytest.approx([time for time, *_ in otherwise], rel=1e-12)
