"""A moment of a run in plain words: a paragraph for the unit and its tank, one for every vessel."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple, assert_never

from sim.case.quantities import Quantity, System
from sim.case.spelling import plain_duration
from sim.plant.records import Cause
from sim.study.explain import Explained, VesselNow, Wait
from sim.study.moments import moment
from sim.study.vessel_past import Busy, Due
from sim.tell.present import UNITS, column
from sim.tell.sentences import clock

HELD_WORDS = "studied here, not a safety function"


class Paragraph(NamedTuple):
    """Somebody's name and what is said of it."""

    name: str
    sentences: tuple[str, ...]


class _Tell:
    """Figures and times as text, in the units of one system."""

    def __init__(self, told: Explained, system: System) -> None:
        self._start, self._system = told.case.run.start, system

    def at(self, seconds: float) -> str:
        """A local date and time."""
        return clock(moment(self._start, seconds))

    def span(self, busy: Busy) -> str:
        """From when to when, the date only once."""
        start = moment(self._start, busy.start_s)
        if busy.end_s is None:
            return f"since {clock(start)}"
        end = moment(self._start, busy.end_s)
        return f"{clock(start)} to {f'{end:%H:%M}' if end.date() == start.date() else clock(end)}"

    def amount(self, value: float | None, quantity: Quantity) -> str:
        """A figure with its unit."""
        return f"{column([value], quantity, self._system)[0]} {UNITS[self._system][quantity].symbol}"


def paragraphs(told: Explained, system: System) -> tuple[Paragraph, ...]:
    """All that is said of the moment, the unit first."""
    tell = _Tell(told, system)
    return (
        Paragraph("unit and tank" if _has_unit(told) else "service", tuple(_train(told, tell))),
        *(Paragraph(each.name, tuple(_vessel(told, each, tell))) for each in told.vessels),
    )


def title(told: Explained) -> str:
    """The moment, and the day of the run that it lies on."""
    start = told.case.run.start
    time = moment(start, told.time_s)
    return f"{clock(time)}, day {(time.date() - start.date()).days + 1} of the run, with {told.result.policy}"


def _has_unit(told: Explained) -> bool:
    return told.case.downstream is not None and told.case.downstream.unit is not None


# The unit and its tank


def _train(told: Explained, tell: _Tell) -> Iterator[str]:
    train = told.train
    flow = tell.amount(train.service_m3_h, "flow")
    below = told.case.downstream
    if below is None or below.unit is None:
        yield f"{flow} go on to service." if train.service_m3_h > 0.0 else "No water goes on to service."
    else:
        tank = below.unit.tank
        low, high = (tell.amount(mark, "volume") for mark in (tank.start_below, tank.stop_above))
        yield _unit(told, flow, low, high)
        yield (
            f"The tank holds {tell.amount(train.level_m3, 'volume')} of {tell.amount(tank.volume, 'volume')}; the "
            f"unit starts at {low} and stops at {high}."
        )
    if train.round_stages:
        yield f"Raw water goes round {_listed(train.round_stages)} and on: nothing of it is filtered there."


def _unit(told: Explained, flow: str, low: str, high: str) -> str:
    train = told.train
    washing = _listed(told.washing) if told.washing else "a wash"
    if train.held:
        wants = "it would run" if train.running else "it would stand anyway, the tank being full enough"
        return f"The unit is held while {washing} is washed ({HELD_WORDS}); {wants}."
    if train.starved:
        return f"The unit asks for water and gets none: it starves while {washing} is washed."
    if train.running:
        return f"The unit runs and takes {flow}, until the tank comes to {high}."
    return f"The unit stands until the tank comes down to {low}."


# A vessel


def _vessel(told: Explained, each: VesselNow, tell: _Tell) -> Iterator[str]:
    yield _doing(told, each, tell)
    yield from _last(each, tell)
    if each.past.waiting is not None:
        yield _queued(each.past.waiting, tell, is_now=True)
    elif each.waits_for:
        yield f"It waits for {'; or for '.join(_waits_for(wait, tell) for wait in each.waits_for)}."
        yield (
            "No hour is set: only the water decides." if each.latest_s is None
            else f"By the clock alone its next wash is due at {tell.at(each.latest_s)} at the latest."
        )  # fmt: skip
    if each.next_s is None or each.next_cause is None:
        yield "In this run it is not washed again."
    else:
        yield f"In this run its next wash starts at {tell.at(each.next_s)}: {each.next_cause.value}."


def _doing(told: Explained, each: VesselNow, tell: _Tell) -> str:
    doing, since = each.doing, tell.at(each.past.since_s)
    if each.past.line is not None and each.until_s is None and each.name in told.washing:
        return f"It is off line and waits for the {each.past.line} line, which another vessel uses."
    if each.until_s is not None:
        wash = "its wash again" if each.past.again else "its wash"
        return f"It is in {wash}: {doing.phase} until {tell.at(each.until_s)}."
    if each.name in told.washing:
        return "It is off line for its wash."
    if doing.phase == "standby":
        return f"It stands by, washed, since {since}, and takes over when another vessel is washed."
    if doing.flow_m3_h <= 0.0:
        return f"It is in service since {since}, and no water goes through it."
    spike = f", {tell.amount(doing.spike_kpa, 'pressure')} of it a spike that passes" if doing.spike_kpa > 0.0 else ""
    return (
        f"It is in service since {since}: {tell.amount(doing.flow_m3_h, 'flow')}, pressure drop "
        f"{tell.amount(doing.signal_kpa, 'pressure')}{spike}; {tell.amount(each.treated_m3, 'volume')} treated since."
    )


def _last(each: VesselNow, tell: _Tell) -> Iterator[str]:
    """When the last wash started, why, and whom it waited for."""
    last, start = each.past.last, each.past.start_s
    if last is None or start is None:
        yield "It has not been washed yet."
        return
    word = "This" if each.until_s is not None else "Its last"
    yield f"{word} wash started at {tell.at(start)}, {_because(each, tell)}."
    if last.due_s < start:
        yield _queued(last, tell, is_now=False)
    if each.past.broken:
        yield "That wash was broken off."
    if each.past.again:
        yield f"It was repeated: {each.past.again} more of it."


def _because(each: VesselNow, tell: _Tell) -> str:
    """Trigger and set point against figure."""
    why, run, last = each.why, each.past.run, each.past.last
    cause = None if last is None else last.cause
    if cause is Cause.HAND:
        return "by hand"
    if why is None or last is None or cause is None:
        return "for a reason that its log names"
    treated = tell.amount(run.volume_m3 if run is not None else why.treated_m3, "volume")
    match cause:
        case Cause.CALENDAR:
            return f"by the calendar: every {plain_duration(why.every_s or 0.0)}, due {tell.at(last.due_s)}"
        case Cause.LONGEST_RUN:
            return f"by the longest run, {plain_duration(why.every_s or 0.0)}, due {tell.at(last.due_s)}"
        case Cause.VOLUME | Cause.RESERVE_SPENT:
            return f"by the meter: {treated} treated, set to {tell.amount(why.volume_m3, 'volume')}"
        case Cause.RESERVE_HOUR:
            learned = "learned" if why.kind == "volume with learned reserve" else "kept"
            return (
                f"at its hour: {treated} of {tell.amount(why.volume_m3, 'volume')} were treated, and what was left "
                f"was no more than the reserve {learned}, {tell.amount(why.reserve_m3, 'volume')}"
            )
        case Cause.PRESSURE:
            return _by_pressure(why, tell)
        case _:
            assert_never(cause)


def _by_pressure(why: Wait, tell: _Tell) -> str:
    signal, above = (why.signal_kpa or 0.0) - (why.spike_kpa or 0.0), why.above_kpa or 0.0
    held = f"held for {plain_duration(why.hold_s or 0.0)}"
    if signal < above:
        return (
            f"by the pressure switch, early: the pressure drop itself was {tell.amount(signal, 'pressure')}, below "
            f"the set point of {tell.amount(above, 'pressure')}; a spike or an error of the switch made up the rest"
        )
    return (
        f"by the pressure drop: {tell.amount(signal, 'pressure')}, set point {tell.amount(above, 'pressure')}, {held}"
    )


def _queued(due: Due, tell: _Tell, *, is_now: bool) -> str:
    """What a wash that is or was due waited for, and who washed meanwhile."""
    has = "A wash of it is" if is_now else "It had been"
    cause = f" ({due.cause.value})" if is_now and due.cause is not None else ""
    reasons = []
    if due.put_off:
        reasons.append("for an hour that the site allows")
    if due.queued_s is not None:
        behind = _listed([f"{each.who} ({tell.span(each)})" for each in due.behind])
        one, more = ("is", "are") if is_now else ("was", "were")
        one = one if len(due.behind) == 1 else more
        wanted = _listed([f"the {line} line" for line in due.lines]) if due.lines else "its turn"
        reasons.append(f"for {wanted} while {behind} {one} washed" if due.behind else f"for {wanted}")
    waits = "waits" if is_now else "waited"
    return f"{has} due since {tell.at(due.due_s)}{cause} and {waits} {' and '.join(reasons)}."


def _waits_for(wait: Wait, tell: _Tell) -> str:
    volume = "" if wait.volume_m3 is None else tell.amount(wait.volume_m3, "volume")
    treated = "" if wait.treated_m3 is None else f"{tell.amount(wait.treated_m3, 'volume')} so far"
    match wait.kind:
        case "calendar":
            return f"{tell.at(wait.at_s or 0.0)}, its calendar's next hour"
        case "longest run":
            return f"{tell.at(wait.at_s or 0.0)}, which ends the longest run of {plain_duration(wait.every_s or 0.0)}"
        case "volume" if wait.at_s is not None:
            return f"{tell.at(wait.at_s)}, the hour booked when {volume} were treated"
        case "volume":
            return f"{volume} treated ({treated})"
        case "volume with reserve":
            if wait.at_s is not None:
                return f"{tell.at(wait.at_s)}, the hour booked when the reserve was reached, or {volume} ({treated})"
            left = (wait.volume_m3 or 0.0) - (wait.reserve_m3 or 0.0)
            return f"{tell.amount(left, 'volume')} treated, which leaves the reserve ({treated})"
        case "volume with learned reserve":
            return (
                f"{tell.at(wait.at_s or 0.0)}, if no more than the reserve is then left of {volume} (learned "
                f"so far {tell.amount(wait.reserve_m3, 'volume')}; {treated}), or for all of it"
            )
        case "pressure drop":
            return (
                f"a pressure drop of {tell.amount(wait.above_kpa, 'pressure')} for "
                f"{plain_duration(wait.hold_s or 0.0)} ({tell.amount(wait.signal_kpa, 'pressure')} now)"
            )
        case _:
            assert_never(wait.kind)


def _listed(texts: Sequence[str]) -> str:
    *most, last = texts
    return f"{', '.join(most)} and {last}" if most else last
