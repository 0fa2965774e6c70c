"""A monitor on what a stage sends on: when it trips, against the outlet itself and against closed forms."""

import math
from dataclasses import replace

import pytest
import simpy
from scipy.optimize import brentq

from sim.case.records import Case
from sim.plant.line import Line, Monitor
from tests.cross_checks import breakthrough_time
from tests.plant.builders import (
    DAY,
    EXACT_FLOW,
    FILTER,
    HOUR,
    M3_H,
    MINUTE,
    SAND,
    by_the_hour,
    feed,
    make_case,
    steady,
    train,
)
from tests.plant.lines import carried, closed, state
from tests.plant.solute_builders import CARBON, CHLORINE, SOFTENER, well

RATE, AREA = FILTER.reference_rate, FILTER.vessel.area
RAW = 0.5  # g/m3
SHORT = replace(FILTER, layers=(replace(SAND, ultimate_deposit=600.0),), limit=None)
"""A bed that breaks through in a day or two of 0.5 g/m3."""
PLAIN = make_case(stages=(SHORT,), demand=steady(RATE * AREA), feed=feed(RAW), days=20.0)


def watched(line: Line, of: Monitor, mark: float, hold: float = 0.0, i: int = 0, **given: float) -> Line:
    line.watch(i, simpy.Event(simpy.Environment()), monitor=(of, mark), monitor_hold=hold, **given)
    return line


def tripped(line: Line, until: float = 20 * DAY) -> float | None:
    """When the line trips before a time [s]."""
    trip = line.advance_to(until, until)
    return None if trip is None else trip[0]


def turbidity(line: Line, time: float, k: int = 0) -> float:
    return line.at(time).reading(k)[3]


@pytest.mark.parametrize("share", [0.1, 0.3, 0.9])
@pytest.mark.parametrize("hold", [0.0, 15 * MINUTE, 30 * HOUR])
def test_it_trips_so_long_after_the_bed_breaks_through(share: float, hold: float) -> None:
    """K = lambda v / sigma_u, N0 = sigma_u: the curve of Bohart and Adams (formula from memory)."""
    due = breakthrough_time(share, 10.0 * RATE / 600.0, 600.0, concentration=RAW, v=RATE, depth=0.25)
    line = watched(Line(PLAIN), "turbidity", RAW * share, hold)
    assert tripped(line) == pytest.approx(due + hold, abs=1e-3)
    assert line.tripped_on(0) == "monitor"
    closed(PLAIN, line)


def test_the_crossing_of_several_layers_is_that_of_the_outlet() -> None:
    """Sand over anthracite behind a first filter, a changing demand: by another root search on the outlet.

    A concentration as near as 1e-9 of the mark counts as there.
    """
    stages = train("first", "second", like=replace(SHORT, layers=(SHORT.layers[0], FILTER.layers[0])))
    case = make_case(stages=stages, demand=by_the_hour(4.0 * M3_H, 6.0 * M3_H), feed=feed(1.0), days=60.0)
    dirty = Line(case)
    due = brentq(lambda time: turbidity(dirty, time, 1) - 0.2, DAY, 59 * DAY, xtol=1e-7, rtol=1e-14)
    line = Line(case)
    watched(line, "turbidity", 0.2, i=1)
    assert tripped(line, 60 * DAY) == pytest.approx(due, abs=1e-2)
    assert line.reading(1)[3] == pytest.approx(0.2, rel=1e-9)


def test_it_watches_what_sisters_send_on_together() -> None:
    """Two vessels, one resting until the second day: the mixed outlet counts, not that of the vessel that waits.

    Their shares of the flow stand within a piece, to 1e-3.
    """
    two = replace(SHORT, vessels=replace(FILTER.vessels, count=2))
    case = replace(PLAIN, stages=(two,))
    line = Line(case)
    line.rest(1)
    carried(line, DAY)
    line.serve(1)
    assert tripped(watched(line, "turbidity", 0.4 * RAW), 4 * DAY) is not None
    outlets = [line.reading(i) for i in range(2)]
    mixed = math.fsum(flow * conc for flow, _, _, conc in outlets) / math.fsum(flow for flow, *_ in outlets)
    assert mixed == pytest.approx(0.4 * RAW, rel=1e-3)
    assert outlets[1][3] < 0.3 * RAW < 0.5 * RAW < outlets[0][3]


def test_hardness_and_all_oxidants_are_watched_too() -> None:
    """By the outlet itself: `sent_on` of a softener, and of carbon behind 3 g/m3 of chlorine."""
    for stage, given, of, place, mark in (
        (SOFTENER, well(0.0, hardness=300.0), "hardness", 0, 20.0),
        (replace(CARBON, dosing=CHLORINE, layers=(replace(CARBON.layers[0], depth=0.02),)), well(0.0), "chlorine", 3,
         2.7),
    ):  # fmt: skip
        case = make_case(stages=(stage,), demand=steady(1.5 * M3_H), feed=given, days=300.0)
        line, looked = Line(case), Line(case)

        def above(time: float, looked: Line = looked, place: int = place, mark: float = mark) -> float:
            told = looked.at(time).sent_on(0)
            assert told is not None
            return told[place] - mark

        due = brentq(above, HOUR, 300 * DAY, xtol=1e-7, rtol=1e-14)
        assert tripped(watched(line, of, mark, MINUTE), 300 * DAY) == pytest.approx(due + MINUTE, abs=1e-5)
        closed(case, line)


def washed(case: Case) -> Line:
    """Back in service from a backwash alone, its dirty water still in the vessel."""
    line = carried(Line(case), 4 * DAY)
    line.begin(0, 0)
    carried(line, 4 * DAY + 2 * MINUTE)
    line.finish(0)
    line.serve(0)
    return line


def test_dirty_water_of_a_wash_trips_only_a_shorter_hold() -> None:
    """What the wash left falls below the mark so long after the return: a hold just shorter trips, one longer not."""
    line = washed(PLAIN)
    back = line.time
    highest = max(turbidity(line, back + 2.0 * second) for second in range(300))
    mark = 0.5 * highest
    peak = next(back + 2.0 * s for s in range(300) if turbidity(line, back + 2.0 * s) >= mark)
    assert turbidity(line, back) < mark or peak == back
    falls = brentq(lambda time: turbidity(line, time) - mark, peak, back + HOUR, xtol=1e-7)
    rises = back if peak == back else brentq(lambda time: turbidity(line, time) - mark, back, peak, xtol=1e-7)
    short, long = falls - rises - 1.0, falls - rises + 1.0
    assert tripped(watched(washed(PLAIN), "turbidity", mark, short), back + HOUR) == pytest.approx(
        rises + short, abs=1e-4
    )
    assert tripped(watched(washed(PLAIN), "turbidity", mark, long), back + HOUR) is None


def test_a_pause_of_the_demand_breaks_its_hold() -> None:
    """Above its mark from the start, flow in every second hour: 61 min never come, 59 min do, after one pause."""
    case = replace(PLAIN, demand=by_the_hour(0.0, 4.0 * M3_H))
    assert tripped(watched(Line(case), "turbidity", 0.01, 61 * MINUTE), 2 * DAY) is None
    assert tripped(watched(Line(case), "turbidity", 0.01, 59 * MINUTE), 2 * DAY) == HOUR + 59 * MINUTE


def test_a_hold_is_taken_up_anew_where_that_is_said() -> None:
    """20 of 30 min have passed; another mark, or `hold_anew`, begins them again, a watch renewed does not."""
    for change, mark, expected in (("", 0.01, 30), ("", 0.02, 50), ("anew", 0.01, 50)):
        line = carried(watched(Line(PLAIN), "turbidity", 0.01, 30 * MINUTE), 20 * MINUTE)
        if change:
            line.hold_anew(0)
        assert tripped(watched(line, "turbidity", mark, 30 * MINUTE), DAY) == pytest.approx(expected * MINUTE)


def test_of_two_triggers_at_one_instant_the_monitor_trips_first() -> None:
    """2^-10 m3/s for 2,048 s are 2 m3, held from the start; the volume then trips at the same instant."""
    line = Line(replace(PLAIN, demand=steady(EXACT_FLOW)))
    watched(line, "turbidity", 0.01, 2048.0, volume=2.0)
    assert tripped(line, DAY) == 2048.0
    assert line.tripped_on(0) == "monitor"
    assert tripped(watched(line, "turbidity", 0.01, 2048.0, volume=2.0), DAY) == 2048.0
    assert line.tripped_on(0) == "volume"


@pytest.mark.parametrize("plain", [False, True])
def test_cut_anywhere_it_trips_at_the_same_instant(plain: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Compiled or not, stopped on the way or not: the same instant and the same line, to the bit."""
    whole = watched(Line(PLAIN), "turbidity", 0.5 * RAW, HOUR)
    due = tripped(whole)
    assert due is not None
    if plain:
        monkeypatch.setenv("FILTERRUN_PLAIN", "1")
    line = watched(Line(PLAIN), "turbidity", 0.5 * RAW, HOUR)
    for stop in (DAY, due - HOUR - 1.0, due - 1.0):
        assert line.advance_to(20 * DAY, stop) is None
    assert tripped(line) == due
    assert state(line) == state(whole)
