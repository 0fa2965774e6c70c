"""What the log of a run tells of one vessel up to a moment: its last wash, when it was due, who was in the way."""

from collections.abc import Sequence
from typing import Literal, assert_never

from sim.case.record import record
from sim.plant.records import Cause, Event, FilterRun, LogEntry, RunResult, Why
from sim.study.vessels import OneVessel

Role = Literal["waits", "begins", "step", "over", "aside"]


def role(event: Event) -> Role:
    """What an event means to a wash: it waits, begins, has done a step, is over; or it passes by."""
    match event:
        case Event.PUT_OFF | Event.WAITS_FOR_TURN | Event.WAITS_FOR_LINE:
            return "waits"
        case Event.WASH_STARTS | Event.WASHES_AGAIN:
            return "begins"
        case Event.STEP_ENDS | Event.BROKEN_OFF:
            return "step"
        case Event.BACK | Event.STANDS_BY:
            return "over"
        case (
            Event.BOOKED | Event.WAITED | Event.BLOCKED | Event.SET_OFF_EARLY | Event.MISSED | Event.SHORT_OF_WATER
            | Event.CUT_SHORT | Event.UNIT_HELD | Event.UNIT_RELEASED | Event.UNIT_STARVED | Event.STORE_EMPTY
            | Event.REGENERATED | Event.FAULT_BEGINS | Event.FAULT_ENDS | Event.RUN_ENDS
        ):  # fmt: skip
            return "aside"
        case _:
            assert_never(event)


OVER = tuple(event for event in Event if role(event) == "over")


@record
class Busy:
    """Another vessel that was washing, from its start to its end [s]; `end_s` None: still at it."""

    who: str
    start_s: float
    end_s: float | None


@record
class Due:
    """A wash that was due, started or not [s].

    `put_off`: the rules of the site did not let it start when it was due; `power_off`: nor did a power cut.
    `queued_s`: when it began to wait for its turn or for the `lines` of its first step, and `behind` who washed
    meanwhile.
    """

    due_s: float
    cause: Cause | None
    put_off: bool
    power_off: bool
    queued_s: float | None
    lines: tuple[str, ...]
    behind: tuple[Busy, ...]


@record
class Past:
    """A vessel up to a moment [s].

    `since_s`: when what it is doing began. `last`: its last wash with the filter run before it; `broken` where that
    was broken off, `again` how often it was repeated, `regenerated` the shares of its capacity that the bed had free
    before and after the last regeneration of that wash, `store_empty` where the store had less than that asks for.
    `waiting`: a wash that is due and has not started. `booked_s`: when a wash was booked for its hour. `line`: the
    line that the step after `steps_done` of the last wash began to wait for, if that is the last thing told.
    """

    since_s: float
    last: Due | None
    start_s: float | None
    run: FilterRun | None
    broken: bool
    again: int
    regenerated: tuple[float, float] | None
    store_empty: bool
    waiting: Due | None
    booked_s: float | None
    line: str | None
    steps_done: int


def past(result: RunResult, vessel: OneVessel, time: float) -> Past:
    """What the log tells of a vessel, events at `time` itself included."""
    before = [
        entry for entry in result.log
        if entry.who == vessel.name and entry.time_s <= time and entry.fault is None
    ]  # fmt: skip
    last, back = _last(before, Event.WASH_STARTS), _last(before, *OVER)
    turn = _last(before, Event.WASH_STARTS, Event.STEP_ENDS, *OVER)
    serving, wash = before[back + 1 :] if back >= last else [], before[last:] if last >= 0 else []
    started = (wash[0].time_s, Cause(wash[0].why)) if wash else None
    return Past(
        since_s=before[turn].time_s if turn >= 0 else 0.0,
        last=_due(result, vessel, before[_last(before[:last], *OVER) + 1 : last], started) if started else None,
        start_s=started[0] if started else None,
        run=next((run for run in vessel.runs(result) if started == (run.end_s, run.cause)), None),
        broken=any(entry.event is Event.BROKEN_OFF for entry in wash),
        regenerated=_regenerated(wash),
        store_empty=any(entry.event is Event.STORE_EMPTY for entry in wash),
        again=sum(entry.event is Event.WASHES_AGAIN for entry in wash),
        waiting=_due(result, vessel, serving, next_wash(result, vessel, time)) if _waits(serving) else None,
        booked_s=next((entry.time_s for entry in serving if entry.event is Event.BOOKED), None),
        line=before[-1].line if before else None,
        steps_done=sum(
            entry.event is Event.STEP_ENDS for entry in wash[max(_last(wash, Event.WASHES_AGAIN), 0) :]
        ),
    )  # fmt: skip


def next_wash(result: RunResult, vessel: OneVessel, time: float) -> tuple[float, Cause] | None:
    """When the vessel's next wash starts in this run [s], and why."""
    for entry in result.log:
        if entry.who == vessel.name and entry.event is Event.WASH_STARTS and entry.time_s > time:
            return entry.time_s, Cause(entry.why)
    return None


def washes(result: RunResult) -> tuple[Busy, ...]:
    """Every wash of the run, whoever's."""
    open_: dict[str, float] = {}
    found: list[Busy] = []
    for entry in result.log:
        if entry.event is Event.WASH_STARTS:
            open_[entry.who] = entry.time_s
        elif role(entry.event) == "over" and entry.who in open_:
            found.append(Busy(who=entry.who, start_s=open_.pop(entry.who), end_s=entry.time_s))
    return (*found, *(Busy(who=who, start_s=start, end_s=None) for who, start in open_.items()))


def _regenerated(wash: Sequence[LogEntry]) -> tuple[float, float] | None:
    for entry in reversed(wash):
        if entry.free_before is not None and entry.free_after is not None:
            return entry.free_before, entry.free_after
    return None


def _last(entries: Sequence[LogEntry], *events: Event) -> int:
    """Where the last of these events stands, -1 if there was none."""
    return max((place for place, entry in enumerate(entries) if entry.event in events), default=-1)


def _waits(serving: Sequence[LogEntry]) -> list[LogEntry]:
    return [entry for entry in serving if role(entry.event) == "waits"]


def _due(
    result: RunResult, vessel: OneVessel, serving: Sequence[LogEntry], started: tuple[float, Cause] | None
) -> Due:
    """A wash that came due while the vessel was serving, and its start and cause if it came to that."""
    waits = _waits(serving)
    start, cause = started or (result.log[-1].time_s, None)
    queued = next((entry.time_s for entry in waits if entry.event is not Event.PUT_OFF), None)
    behind = (
        each
        for each in washes(result)
        if queued is not None and each.who != vessel.name and each.start_s < start and (each.end_s or start) > queued
    )
    return Due(
        due_s=waits[0].time_s if waits else start,
        cause=cause,
        put_off=any(entry.event is Event.PUT_OFF and entry.why is not Why.POWER for entry in waits),
        power_off=any(entry.why is Why.POWER for entry in waits),
        queued_s=queued,
        lines=tuple(entry.line for entry in waits if entry.line is not None),
        behind=tuple(sorted(behind, key=lambda each: each.start_s)),
    )
