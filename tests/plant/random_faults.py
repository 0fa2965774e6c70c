"""Faults drawn for a case, of everything that it has, and what must hold in a run in which things fail."""

import math
from collections import Counter
from collections.abc import Sequence

import pytest
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from sim.case.fault.records import NUMBER_OF, STAYS, WHOLE_SITE, Fault, What
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.trigger.records import Trigger, devices
from sim.plant.meter import METERS, SWITCHES
from sim.plant.records import Cause, Event, Figure, RunResult
from tests.plant.builders import DAY, HOUR

NEVER = math.inf
BY = {What.SWITCH_CHATTERS: 2e3, What.SWITCH_DRIFTS: -1.5e3}  # Pa
MOST_FAULTS = 8
CLOSES_TO = 1e-9
BY_THE_CLOCK = {Cause.CALENDAR, Cause.RESERVE_HOUR, Cause.LONGEST_RUN}
PUT_OFF = {Event.PUT_OFF, Event.WAITS_FOR_TURN, Event.WAITS_FOR_LINE}


def devices_of(trigger: Trigger) -> list[What]:
    """What can fail of the devices that start the washes of a stage; its clock always."""
    _, meters, switch, _ = devices(trigger)
    return sorted({What.CLOCK_WRONG} | (METERS if meters else set()) | (SWITCHES if switch else set()))


def rest_of(case: Case, stage: Stage) -> list[What]:
    """What else can fail of a stage."""
    found = set(What) - WHOLE_SITE - METERS - SWITCHES - {What.CLOCK_WRONG}
    if not any(step.do == "regenerant" for step in stage.steps):
        found -= {What.SALT_OUT, What.BRINE_NOT_DRAWN}
    if stage.dosing is None and (case.feed.coagulant is None or stage is not case.stages[0]):
        found -= {What.DOSING_WRONG}
    if all(layer.uptake is None for layer in stage.layers):
        found -= {What.CAPACITY_LOST}
    return sorted(found)


@st.composite
def faults(draw: DrawFn, case: Case) -> Fault:
    """One of a case with one policy, at a time of no meaning; for good now and then, as a power cut never is."""
    stage = draw(st.sampled_from(case.stages))
    trigger = dict(case.policies[0].triggers)[stage.name]
    of = (st.sampled_from(each) for each in (devices_of(trigger), rest_of(case, stage), sorted(WHOLE_SITE)))
    what = draw(st.one_of(*of))
    length = case.run.length
    start = draw(st.integers(0, 999)) / 1000.0 * length + 0.37
    lasts = draw(st.sampled_from((613.0, 3.01 * HOUR, 0.9 * DAY, 0.4 * length)))
    for_good = what is not What.POWER_CUT and (what in STAYS or draw(st.booleans()))
    number = NUMBER_OF.get(what)
    share = draw(st.sampled_from((0.0, 0.1, 0.5, 0.85))) if number == "share" else None
    by = draw(st.sampled_from((-5 * HOUR, 2400.0, 1.5 * DAY))) if what is What.CLOCK_WRONG else BY.get(what)
    valve = draw(st.sampled_from(("frozen", "home"))) if what is What.POWER_CUT else None
    end = NEVER if for_good else min(start + lasts, length)
    return Fault(
        what=what, stage=None if what in WHOLE_SITE else stage.name, start=start, end=end, share=share, by=by,
        valve=valve,
    )  # fmt: skip


def beside(others: Sequence[Fault], fault: Fault) -> bool:
    """Whether it may stand in a case beside others: nothing fails twice at once in the same way."""
    return not any(
        (fault.what, fault.stage) == (each.what, each.stage) and fault.start <= each.end and each.start <= fault.end
        for each in others
    )


# What must hold


def log_holds(case: Case, result: RunResult) -> None:
    """All that a log tells of faults, power, the unit and ties."""
    faults_come_in_pairs(case, result)
    no_wash_starts_without_power(case, result)
    the_unit_is_held_and_released_in_turn(result)
    ties_go_in_the_order_of_the_train(case, result)


def faults_come_in_pairs(case: Case, result: RunResult) -> None:
    """Each is told as it begins and as it ends, once and at its time, those that last as they begin."""
    told = Counter((entry.time_s, entry.who, entry.event, entry.fault) for entry in result.log if entry.fault)
    wanted: Counter[tuple[float, str, Event, str | None]] = Counter()
    for fault in case.faults:
        who = fault.stage or "site"
        for time, event in ((fault.start, Event.FAULT_BEGINS), (fault.end, Event.FAULT_ENDS)):
            wanted[time, who, event, fault.what.value] += time < case.run.length
    assert told == +wanted


def no_wash_starts_without_power(case: Case, result: RunResult) -> None:
    cuts = [fault for fault in case.faults if fault.what is What.POWER_CUT]
    for entry in result.log:
        if entry.event in (Event.WASH_STARTS, Event.WASHES_AGAIN):
            assert not any(cut.start <= entry.time_s < cut.end for cut in cuts), entry


def the_unit_is_held_and_released_in_turn(result: RunResult) -> None:
    """By each vessel: never released more often than held; held twice at once only by a hold that outlasts a wash."""
    held: Counter[str] = Counter()
    for entry in result.log:
        held[entry.who] += (entry.event is Event.UNIT_HELD) - (entry.event is Event.UNIT_RELEASED)
        assert held[entry.who] >= 0, entry
    begun = Counter(entry.who for entry in result.log if entry.event is Event.UNIT_HELD)
    for who, times in begun.items():
        assert held[who] <= min(times, 2), who


def ties_go_in_the_order_of_the_train(case: Case, result: RunResult) -> None:
    """Of washes that start by the clock at one instant, those that waited for nothing come as their stages stand."""
    places = {stage.name: place for place, stage in enumerate(case.stages)}
    waited: set[str] = set()
    before = (-1.0, -1)
    for entry in result.log:
        if entry.event in PUT_OFF:
            waited.add(entry.who)
        if entry.event is Event.WASH_STARTS:
            if entry.why in BY_THE_CLOCK and entry.who not in waited:
                stage = next(name for name in places if entry.who == name or entry.who[: -len(" 1")] == name)
                now = (entry.time_s, places[stage])
                assert now >= before, entry
                before = now
            waited.discard(entry.who)


def ledgers_close(result: RunResult) -> None:
    """Solids of the site and of each stage, and the water that it sends to drain."""
    for figures in (result.site, *result.stages.values()):
        came = sum(number(figures, f"solids_{way}_kg") for way in ("in", "dosed", "formed"))
        went = sum(number(figures, f"solids_{way}_kg") for way in ("to_service", "to_drain", "held"))
        assert went == pytest.approx(came, rel=CLOSES_TO, abs=1e-12)
    drained = math.fsum(number(figures, "drain_m3") for figures in result.stages.values())
    assert number(result.site, "drain_m3") == pytest.approx(drained, rel=CLOSES_TO)


def number(figures: dict[str, Figure], key: str) -> float:
    value = figures.get(key)
    assert value is None or math.isfinite(value), key
    return float(value or 0.0)
