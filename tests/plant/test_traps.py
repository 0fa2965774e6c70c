"""The traps of SimPy 4.1 that the plant must not fall into, each with a test."""

import inspect
import math
from collections.abc import Iterator
from pathlib import Path

import pytest
import simpy

import hydraulics.errors
import sim.errors
import sim.plant.errors
from hydraulics.errors import CompilerError, DomainError, FilterrunError
from sim.case.trigger.records import Volume
from sim.errors import CaseError, Problem, RefusedValue
from sim.plant.clock import Order, checked, phase_end
from sim.plant.environment import EVENTS_AT_ONE_INSTANT, LeapingEnvironment
from sim.plant.errors import ClockError, LedgerError, PolicyError, RunError, StalledError
from sim.plant.kernel import STALL_LIMIT
from sim.plant.line import Line
from sim.plant.shared import Shared
from sim.plant.simulate import Plant, simulate
from tests.plant.builders import (
    BACKWASH,
    CALENDAR,
    DAY,
    EXACT_FLOW,
    FILTER,
    HOUR,
    make_case,
    policy,
    replace,
    steady,
    train,
)
from tests.plant.fakes import Diary, ScriptedWater, on_still_water, told, wash_starts

PROBLEM = Problem("case.toml", 3, "run.length", '"0 d"', "1 h to 100 a", '"60 d"')
EXAMPLES = (
    FilterrunError("anything"),
    DomainError("water temperature", "60 degC", "0 to 50 degC"),
    CompilerError("ImportError: its library is too old"),
    RefusedValue('"9 psi"', "a flow", '"9 m3/h"'),
    CaseError((PROBLEM, replace(PROBLEM, line=None, key=""))),
    RunError("anything"),
    ClockError(12.5, math.inf, "an event must lie at a finite time, now or later"),
    StalledError(86_400.0, "filter", "mode 0"),
    LedgerError("the site", "solids", "g", 100.0, 99.0),
    PolicyError("calender", ("calendar", "volume")),
)
each_example = pytest.mark.parametrize("error", EXAMPLES, ids=lambda error: type(error).__name__)
NOT_A_TIME = (math.nan, math.inf, -math.inf, 4.999)


def exceptions_of(module: object) -> set[type]:
    """The exception classes that a module defines itself."""
    return {
        value
        for value in vars(module).values()
        if inspect.isclass(value) and issubclass(value, Exception) and value.__module__ == module.__name__
    }


# A failing process's exception is rebuilt as type(e)(*e.args)


def test_every_exception_class_has_an_example() -> None:
    defined = set().union(*map(exceptions_of, (hydraulics.errors, sim.errors, sim.plant.errors)))
    assert {type(error) for error in EXAMPLES} == defined


@each_example
def test_an_exception_rebuilt_from_its_arguments_is_the_same(error: FilterrunError) -> None:
    again = type(error)(*error.args)
    assert vars(again) == vars(error)
    assert again.args == error.args
    assert str(again) == str(error)


@each_example
def test_an_exception_leaves_a_process_with_all_its_fields(error: FilterrunError) -> None:
    env = on_still_water()

    def fails() -> Iterator[simpy.Event]:
        yield env.at(2.0, Order.PHASE)
        raise error

    env.process(fails())
    with pytest.raises(type(error)) as caught:
        env.run_until(5.0)
    assert vars(caught.value) == vars(error)
    assert str(caught.value) == str(error)


def test_what_a_filter_raises_leaves_the_run_with_all_its_fields() -> None:
    too_short = replace(FILTER, steps=(replace(BACKWASH, seconds=1e-12),))
    start = 99 * HOUR
    with pytest.raises(ClockError) as caught:
        simulate(make_case(stages=(too_short,)), "calendar")
    assert (caught.value.now, caught.value.asked) == (start, start)
    assert "shorter than the clock can resolve" in str(caught.value)


# A nan delay is accepted and the clock runs backwards


@pytest.mark.parametrize("time", NOT_A_TIME)
def test_a_time_that_is_not_now_or_later_is_refused(time: float) -> None:
    env = on_still_water()
    env.at(5.0, Order.PHASE)
    env.run_until(6.0)
    for go in (lambda: env.at(time, Order.PHASE), lambda: env.run_until(time), lambda: checked(env.now, time)):
        with pytest.raises(ClockError) as caught:
            go()
        assert str(caught.value.asked) == str(time)
    assert env.peek() == math.inf


@pytest.mark.parametrize("seconds", [math.nan, math.inf, -1.0])
def test_a_phase_that_does_not_last_some_time_is_refused(seconds: float) -> None:
    with pytest.raises(ClockError):
        phase_end(100.0, seconds)


@pytest.mark.parametrize("time", [math.nan, math.inf, -1.0])
def test_a_plant_does_not_run_to_what_is_no_time(time: float) -> None:
    with pytest.raises(ClockError):
        Plant(make_case(), "calendar").run_until(time)


def test_a_plant_does_not_run_back() -> None:
    plant = Plant(make_case(), "calendar")
    plant.run_until(3 * DAY)
    with pytest.raises(ClockError):
        plant.run_until(2 * DAY)


def test_a_plant_does_not_run_past_the_end_of_its_case() -> None:
    plant = Plant(make_case(days=1.0), "calendar")
    plant.run_until(DAY)
    with pytest.raises(ClockError, match="the case ends at 86400 s"):
        plant.run_until(DAY + 1.0)


def test_relative_delays_are_refused() -> None:
    env = on_still_water()
    for delay in (0, 1.0, math.nan):
        with pytest.raises(ClockError, match="use at"):
            env.timeout(delay)
    assert env.peek() == math.inf


# What nobody waits for any more stays queued


def test_a_withdrawn_event_neither_happens_nor_cuts_the_water() -> None:
    water = ScriptedWater()
    env = LeapingEnvironment(water)
    diary = Diary(env)
    diary.expect(1.0, Order.PHASE, 0, "one")
    gone = diary.keep(env.at(2.0, Order.POLICY), "gone")
    diary.expect(3.0, Order.PHASE, 0, "three")
    env.withdraw(gone)
    env.run_until(4.0)
    assert diary.entries == [(1.0, "one"), (3.0, "three")]
    assert water.carried == [1.0, 3.0, 4.0]


@pytest.mark.parametrize("at", [None, 3 * HOUR])
def test_a_year_with_latest_keeps_the_queue_short(at: float | None) -> None:
    often = Volume(volume=100.0, at=at, longest_run=20 * DAY)
    plant = Plant(make_case(days=365.0, policies=(policy("volume", often),)), "volume")
    for day in range(0, 365, 15):
        plant.run_until(day * DAY + 100.0)
        assert len(plant._env._queue) <= 2
        assert all(event.callbacks for *_, event in plant._env._queue)
    plant.run_until(365 * DAY)
    result = plant.result()
    assert result.site["washes"] > 180
    assert {why for _, why in wash_starts(result)} == {"volume"}
    assert result.counts["longest_queue"] <= 3


def test_the_water_no_longer_watches_for_what_the_clock_came_before() -> None:
    plant = Plant(make_case(policies=(policy("both", Volume(volume=1e6, at=None, longest_run=DAY)),)), "both")
    plant.run_until(DAY)
    assert list(plant._line._waiting) == [0]
    plant.run_until(DAY + 1.0)
    assert plant._line.phase(0) == "backwash"
    assert not plant._line._waiting


def test_a_line_for_turns_is_empty_when_all_have_had_theirs() -> None:
    env = on_still_water()
    diary, turn = Diary(env), Shared(env, 1, "turn")

    def washes(stage: int) -> Iterator[simpy.Event]:
        yield env.at(1.0, Order.POLICY, stage)
        handed_over = turn.claim(stage)
        if handed_over is not None:
            yield handed_over
        diary.write(f"{stage} has it")
        yield env.at(env.now + 2.0, Order.PHASE, stage)
        turn.give_back()

    for stage in (2, 0, 1):
        env.process(washes(stage))
    env.run_until(10.0)
    assert diary.entries == [(1.0, "0 has it"), (3.0, "1 has it"), (5.0, "2 has it")]
    assert turn.claim(0) is None


def test_every_wait_for_a_turn_ends_in_a_wash() -> None:
    two = train("first", "second")
    result = simulate(make_case(stages=two, policies=(policy("both", CALENDAR, stages=two),)), "both")
    waits, starts = told(result, "waits for its turn"), told(result, "wash starts")
    assert [who for _, who, _ in waits] == ["second"] * 14
    assert [time for time, who, _ in starts if who == "second"] == [time + 960.0 for time, *_ in waits]


def test_nothing_is_used_that_has_the_traps() -> None:
    """No interrupts (they land in the next phase), no timeouts, no containers, no requests that stay queued."""
    room = Path(sim.plant.errors.__file__).parent
    text = {path.name: path.read_text(encoding="utf-8") for path in room.glob("*.py")}
    assert "filter.py" in text
    for trap in (".interrupt(", ".timeout(", "Container(", "Resource(", "Store(", ".succeed("):
        assert [name for name, source in text.items() if trap in source] == []


# What happens at the end of a phase lands in the next one


def test_a_trip_at_the_end_of_a_phase_does_not_leak_into_the_next() -> None:
    water = ScriptedWater()
    env = LeapingEnvironment(water)
    diary = Diary(env)
    met = env.event()
    water.trips.append((5.0, 0, met))

    def serves_then_washes() -> Iterator[simpy.Event]:
        hour = env.at(5.0, Order.POLICY)
        yield env.any_of([met, hour])
        diary.write("trip" if met.processed else "hour")
        env.withdraw(hour)
        yield env.at(9.0, Order.PHASE)
        diary.write("washed")

    env.process(serves_then_washes())
    env.run_until(20.0)
    assert diary.entries == [(5.0, "trip"), (9.0, "washed")]
    assert env.peek() == math.inf


def test_a_volume_reached_at_the_latest_time_starts_one_wash_only() -> None:
    seconds = 100_000.0
    trigger = Volume(volume=EXACT_FLOW * seconds, at=None, longest_run=seconds)
    case = make_case(days=4.0, demand=steady(EXACT_FLOW), policies=(policy("both", trigger),))
    washes = [(seconds, "volume"), (2 * seconds, "longest run"), (3 * seconds, "longest run")]
    assert wash_starts(simulate(case, "both")) == washes


# A delay below one ulp does not move the clock


def test_a_phase_too_short_for_the_clock_is_refused() -> None:
    late = 1e9
    assert late + 1e-8 == late
    with pytest.raises(ClockError, match="shorter than the clock can resolve"):
        phase_end(late, 1e-8)
    assert phase_end(late, 1e-6) > late
    assert phase_end(late, 0.0) == late


def test_ten_thousand_events_at_one_instant_are_an_error() -> None:
    env = on_still_water()

    def never_moves() -> Iterator[simpy.Event]:
        while True:
            yield env.at(max(env.now, 7.0), Order.POLICY)

    env.process(never_moves())
    with pytest.raises(ClockError, match="10000 events and the clock did not move") as caught:
        env.run_until(8.0)
    assert caught.value.now == 7.0
    assert env.events == EVENTS_AT_ONE_INSTANT + 3  # the start of the process, and the event that came to 7 s


def test_many_events_at_one_instant_are_none() -> None:
    env = on_still_water()
    for _ in range(EVENTS_AT_ONE_INSTANT):
        env.at(7.0, Order.POLICY)
        env.at(8.0, Order.POLICY)
    env.run_until(9.0)
    assert env.events == 2 * EVENTS_AT_ONE_INSTANT


def test_pieces_that_take_no_time_are_an_error() -> None:
    """A line made by hand whose cuts after a wash all lie at no volume, its counter almost at its limit."""
    line = Line(make_case(stages=(replace(FILTER, name="sand bed"),)))
    edges = line._tables.edge
    assert len(edges) < STALL_LIMIT == 100
    edges["filtered"] = 0.0
    line.vessel.filtered, line.vessel.edge = 0.0, 0
    line.control.stalled = STALL_LIMIT - len(edges)
    with pytest.raises(StalledError) as caught:
        line.advance_to(HOUR, HOUR)
    assert (caught.value.time, caught.value.stage) == (0.0, "sand bed")


def test_pieces_that_take_time_clear_the_count() -> None:
    line = Line(make_case())
    line.control.stalled = STALL_LIMIT - 1
    line.advance_to(HOUR, HOUR)
    assert line.control.stalled == 0


# run(until=t) excludes what happens at t


@pytest.mark.parametrize("run", [LeapingEnvironment.run_until, LeapingEnvironment.run])
def test_a_run_excludes_what_happens_at_its_end(run) -> None:
    env = on_still_water()
    diary = Diary(env)
    diary.expect(5.0, Order.TRIP, 0, "at five")
    run(env, math.nextafter(5.0, 0.0))
    run(env, 5.0)
    assert diary.entries == []
    run(env, math.nextafter(5.0, 9.0))
    assert diary.entries == [(5.0, "at five")]


def test_a_plant_stopped_at_a_wash_has_not_begun_it() -> None:
    plant = Plant(make_case(), "calendar")
    start = 99 * HOUR
    plant.run_until(start)
    assert plant.result().log[:-1] == ()
    assert plant.result().site["downtime_h"] == 0.0
    plant.run_until(start + 1.0)
    cut = (start + 1.0, "filter", "wash cut short")
    assert told(plant.result()) == [(start, "filter", "wash starts"), cut]
    assert plant.result().site["downtime_h"] == pytest.approx(1.0 / 3600.0)
