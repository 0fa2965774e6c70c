"""What the log of a run tells of one vessel up to a moment: its last wash, when it was due, who was in the way."""

from collections.abc import Sequence
from dataclasses import dataclass

from sim.plant.records import Cause, FilterRun, LogEntry, RunResult
from sim.study.vessels import OneVessel

STARTS, BACK, REST, BOOKED = "wash starts", "back in service", "stands by", "wash booked"
TURN, PUT_OFF, LINE = "waits for its turn", "wash put off", "waits for the "


@dataclass(frozen=True, slots=True, kw_only=True)
class Busy:
    """Another vessel that was washing, from its start to its end [s]; `end_s` None: still at it."""

    who: str
    start_s: float
    end_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """A wash that was due, started or not [s].

    `put_off`: the rules of the site did not let it start when it was due. `queued_s`: when it began to wait for its
    turn or for the `lines` of its first step, and `behind` who washed meanwhile.
    """

    due_s: float
    cause: Cause | None
    put_off: bool
    queued_s: float | None
    lines: tuple[str, ...]
    behind: tuple[Busy, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """A vessel up to a moment [s].

    `since_s`: when what it is doing began. `last`: its last wash with the filter run before it; `broken` where that
    was broken off, `again` how often it was repeated. `waiting`: a wash that is due and has not started. `booked_s`:
    when a wash was booked for its hour. `line`: the line that the step after `steps_done` of the last wash began to
    wait for, if that is the last thing told.
    """

    since_s: float
    last: Due | None
    start_s: float | None
    run: FilterRun | None
    broken: bool
    again: int
    waiting: Due | None
    booked_s: float | None
    line: str | None
    steps_done: int


def past(result: RunResult, vessel: OneVessel, time: float) -> Past:
    """What the log tells of a vessel, events at `time` itself included."""
    own = [entry for entry in result.log if entry.who == vessel.name]
    before = [entry for entry in own if entry.time_s <= time]
    starts = [place for place, entry in enumerate(before) if entry.what == STARTS]
    last = starts[-1] if starts else None
    open_since = next((place for place in range(len(before) - 1, -1, -1) if before[place].what in (BACK, REST)), -1)
    serving = before[open_since + 1 :] if last is None or open_since > last else []
    wash = before[last:] if last is not None else []
    next_start = next((entry for entry in own if entry.time_s > time and entry.what == STARTS), None)
    return Past(
        since_s=_since(before),
        last=None if last is None else _due(result, vessel.name, before[: last + 1]),
        start_s=None if last is None else before[last].time_s,
        run=_run_before(result, vessel, None if last is None else before[last].time_s),
        broken=any(entry.what.endswith("broken off") for entry in wash),
        again=sum(entry.what == "washes again" for entry in wash),
        waiting=_waiting(result, vessel.name, serving, next_start),
        booked_s=next((entry.time_s for entry in serving if entry.what == BOOKED), None),
        line=_line_waited_for(before),
        steps_done=sum(entry.what.endswith(" ends") for entry in _of_last_wash(wash)),
    )


def next_wash(result: RunResult, vessel: OneVessel, time: float) -> tuple[float, Cause] | None:
    """When the vessel's next wash starts in this run [s], and why."""
    for entry in result.log:
        if entry.who == vessel.name and entry.what == STARTS and entry.time_s > time:
            return entry.time_s, Cause(entry.why)
    return None


def washes(result: RunResult) -> tuple[Busy, ...]:
    """Every wash of the run, whoever's."""
    open_: dict[str, float] = {}
    found: list[Busy] = []
    for entry in result.log:
        if entry.what == STARTS:
            open_[entry.who] = entry.time_s
        elif entry.what in (BACK, REST) and entry.who in open_:
            found.append(Busy(who=entry.who, start_s=open_.pop(entry.who), end_s=entry.time_s))
    return (*found, *(Busy(who=who, start_s=start, end_s=None) for who, start in open_.items()))


def _since(before: Sequence[LogEntry]) -> float:
    """When what the vessel is doing began: the last start, end of a step, return or rest; 0 if nothing was."""
    turns = (STARTS, BACK, REST)
    return next(
        (entry.time_s for entry in reversed(before) if entry.what in turns or entry.what.endswith(" ends")), 0.0
    )


def _due(result: RunResult, name: str, until_start: Sequence[LogEntry]) -> Due:
    """The wash whose start is the last of these entries."""
    start = until_start[-1]
    since = next((i for i in range(len(until_start) - 1, -1, -1) if until_start[i].what in (BACK, REST)), -1)
    waits = _waits(until_start[since + 1 :])
    return _due_of(result, name, waits, start.time_s, Cause(start.why))


def _waiting(result: RunResult, name: str, serving: Sequence[LogEntry], coming: LogEntry | None) -> Due | None:
    """The wash that is due and has not started, None if none is."""
    waits = _waits(serving)
    if not waits:
        return None
    until = coming.time_s if coming is not None else result.log[-1].time_s
    return _due_of(result, name, waits, until, None if coming is None else Cause(coming.why))


def _waits(serving: Sequence[LogEntry]) -> list[LogEntry]:
    return [entry for entry in serving if entry.what in (TURN, PUT_OFF) or entry.what.startswith(LINE)]


def _due_of(result: RunResult, name: str, waits: Sequence[LogEntry], start: float, cause: Cause | None) -> Due:
    queued = next((entry.time_s for entry in waits if entry.what != PUT_OFF), None)
    behind = tuple(
        each
        for each in washes(result)
        if queued is not None and each.who != name and each.start_s < start and (each.end_s or start) > queued
    )
    return Due(
        due_s=waits[0].time_s if waits else start,
        cause=cause,
        put_off=any(entry.what == PUT_OFF for entry in waits),
        queued_s=queued,
        lines=tuple(_line(entry) for entry in waits if entry.what.startswith(LINE) and entry.what != TURN),
        behind=tuple(sorted(behind, key=lambda each: each.start_s)),
    )


def _run_before(result: RunResult, vessel: OneVessel, start: float | None) -> FilterRun | None:
    return next((run for run in vessel.runs(result) if run.end_s == start and run.cause is not None), None)


def _of_last_wash(wash: Sequence[LogEntry]) -> Sequence[LogEntry]:
    """Of a wash and its repeats the entries of the last one."""
    again = [place for place, entry in enumerate(wash) if entry.what == "washes again"]
    return wash[again[-1] :] if again else wash


def _line_waited_for(before: Sequence[LogEntry]) -> str | None:
    """The line that the vessel began to wait for within its wash as the last thing it did, None if it did not."""
    if not before or not before[-1].what.startswith(LINE):
        return None
    return _line(before[-1])


def _line(waits: LogEntry) -> str:
    return waits.what.removeprefix(LINE).removesuffix(" line")
