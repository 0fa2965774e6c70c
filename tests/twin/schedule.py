"""When the filters of a train wash, from clocks, calendars, contacts, meters, rules, faults: no water, no processes.

Written beside the product, not from it: a list of instants at which anything could change, and at each of them a look
at every filter in the order of the train. Times in s from the start of the run, "face" is what a filter's own clock
shows on the same scale, hours in s after midnight, volumes m3, flows m3/s. The feed is clean and steady, so that a
meter runs evenly while its filter serves and a pressure switch acts only where it is stuck.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import NamedTuple

DAY = 86_400.0
NEVER = float("inf")
HAIR, DIGITS = 1e-4, 6  # s, of rounding: what comes together by a millionth of a second is one instant
BEYOND = 20 * DAY  # after the run, for hours of a longest run and for clocks that are set days ahead


@dataclass(frozen=True)
class Clock:
    drift: float = 0.0  # s a day, fast is positive
    follows_summer: bool = False
    keeps_time: bool = True


@dataclass(frozen=True)
class Calendar:
    """Slots at hours of the face: on some weekdays, or every so many seconds, all the hours of a day that is due."""

    hours: tuple[float, ...]
    every: float | None = None
    weekdays: tuple[int, ...] = ()
    skips_closed: bool = False


@dataclass(frozen=True)
class Interval:
    """So long after the start of the last wash."""

    every: float


@dataclass(frozen=True)
class Meter:
    """At a volume; at an hour once it is reached; or at an hour once no more than a reserve of it is left."""

    volume: float
    reserve: float | None = None
    hour: float | None = None


@dataclass(frozen=True)
class Switch:
    """A pressure switch that clean water never sets off."""

    hold: float


@dataclass(frozen=True)
class Contact:
    """Closed from hour to hour of the face, over midnight where the second is the smaller; one wash a closing."""

    spans: tuple[tuple[float, float], ...]
    hold: float
    hour: float | None = None


Trigger = Calendar | Interval | Meter | Switch | Contact


class Step(NamedTuple):
    do: str
    seconds: float
    flow: float


@dataclass(frozen=True)
class Filter:
    name: str
    triggers: tuple[Trigger, ...]
    steps: tuple[Step, ...]
    vessels: int = 1
    passes_raw: bool = False
    clock: Clock = Clock()
    least_interval: float = 0.0
    not_while: tuple[str, ...] = ()
    longest_run: float | None = None
    longest_run_at: float | None = None
    by_hand: tuple[float, ...] = ()


@dataclass(frozen=True)
class Fault:
    """`what`: "cut", "clock", "meter" or "closed" (a switch stuck so); `number`: s of a clock, share of a meter."""

    what: str
    start: float
    end: float
    filter: str | None = None
    number: float = 0.0
    home: bool = False


@dataclass(frozen=True)
class Train:
    start: datetime
    length: float
    flow: float
    filters: tuple[Filter, ...]
    summer: tuple[tuple[float, float, float], ...] = ()
    together: str = "overlap"
    lines: tuple[int, int, int] = (1, 1, 1)  # supply, raw, drain
    allowed: tuple[tuple[float, float], ...] = ()
    least_interval: float = 0.0
    most_a_day: int | None = None
    closed_weekdays: tuple[int, ...] = ()
    wash_again: bool = False
    faults: tuple[Fault, ...] = ()


class Mark(NamedTuple):
    """A wash of a vessel (its filter's name, its number from 0) starts, for a cause, or it is back in service."""

    time: float
    filter: str
    vessel: int
    cause: str


class Slot(NamedTuple):
    time: float  # when the face first comes to it
    face: float
    hour: float
    day: int  # from the day on which the run starts


def within(spans: tuple[tuple[float, float], ...], second: float) -> bool:
    """Whether an hour lies in one of the spans, its start included, its end not."""
    return any(a <= second < b if a < b else second >= a or second < b for a, b in spans)


class Face:
    """A clock as straight pieces: from a time on, the face then and how fast it goes."""

    def __init__(self, train: Train, clock: Clock, wrong: list[Fault], cuts: list[Fault]) -> None:
        self._end = train.length + BEYOND
        jumps: dict[float, float] = {0.0: 0.0}

        def jump(time: float, by: float) -> None:
            jumps[max(time, 0.0)] = jumps.get(max(time, 0.0), 0.0) + by

        for start, end, shift in train.summer if clock.follows_summer else ():
            jump(start, shift)
            jump(end, -shift)
        for fault in wrong:
            jump(fault.start, fault.number)
            jump(fault.end, -fault.number)
        stops = [] if clock.keeps_time else [(cut.start, cut.end) for cut in cuts]
        edges = sorted({*jumps, *(time for stop in stops for time in stop)})
        pace, face, before, rate = 1.0 + clock.drift / DAY, 0.0, 0.0, 0.0
        self.pieces: list[tuple[float, float, float]] = []
        for time in edges:
            if time > self._end:
                break
            face += rate * (time - before) + jumps.get(time, 0.0)
            rate = 0.0 if any(a <= time < b for a, b in stops) else pace
            self.pieces.append((time, face, rate))
            before = time

    def at(self, time: float) -> float:
        start, face, rate = [piece for piece in self.pieces if piece[0] <= time][-1]
        return face + rate * (time - start)

    def _ends(self) -> list[float]:
        return [piece[0] for piece in self.pieces[1:]] + [self._end]

    def first_at(self, wanted: float) -> float | None:
        """The first time at which the face is at `wanted` or past it; None where that is before the run or never."""
        for place, ((start, face, rate), end) in enumerate(zip(self.pieces, self._ends(), strict=True)):
            if face >= wanted:
                return start if place > 0 or face == wanted else None
            if rate > 0.0 and start + (wanted - face) / rate < end:
                return round(start + (wanted - face) / rate, DIGITS)
        return None


class Line:
    """What so many vessels at a time can have, first come first served; a turn given back is handed on later."""

    def __init__(self, places: int) -> None:
        self.free, self.queue, self.granted = places, deque[Vessel](), list[Vessel]()

    def take(self, vessel: Vessel) -> bool:
        if vessel in self.granted:
            self.granted.remove(vessel)
            return True
        if self.free > 0:
            self.free -= 1
            return True
        if vessel not in self.queue:
            self.queue.append(vessel)
        return False

    def forget(self, vessel: Vessel) -> None:
        """It waits no longer."""
        if vessel in self.queue:
            self.queue.remove(vessel)
        if vessel in self.granted:
            self.granted.remove(vessel)
            self.give_back()

    def give_back(self) -> None:
        if self.queue:
            self.granted.append(self.queue.popleft())
        else:
            self.free += 1


@dataclass(eq=False)
class Vessel:
    filter: Filter
    place: int
    number: int
    state: str = "serves"  # asks, queues, washes, waits for lines, is broken off
    began: float = 0.0  # to serve
    waited_anew: float = 0.0  # since when holds count
    last: float = 0.0
    answered: float | None = None  # the face of a calendar's slot
    cause: str = ""
    slot: float | None = None
    shown: float = 0.0  # by its meter, since it began to serve
    noticed: float = 0.0  # of that
    booked: bool = False  # by its contact
    signalled: float = -1.0  # when its contact asked last
    step: int = 0
    step_ends: float = NEVER
    left: float = 0.0  # of a frozen step
    has_turn: bool = False
    held: list[Line] = field(default_factory=list)


class Schedule:
    """One run: `marks` tells every start of a wash and every return."""

    def __init__(self, train: Train) -> None:
        self.train, self.now = train, 0.0
        midnight = train.start.replace(hour=0, minute=0, second=0, microsecond=0)
        self.midnight = (midnight - train.start) / timedelta(seconds=1)
        self.weekday = midnight.weekday()
        self.vessels = [
            Vessel(each, place, number) for place, each in enumerate(train.filters) for number in range(each.vessels)
        ]
        self.cuts = [fault for fault in train.faults if fault.what == "cut"]
        places = range(len(train.filters))
        self.faces = [self.face(place, NEVER) for place in places]
        self.slots = [list(self.slots_of(place, self.faces[place])) for place in places]
        self.expected: dict[tuple[int, int], list[Slot]] = {}
        self.closings = [list(self.closings_of(place)) for place in places]
        alone = {"overlap": len(train.filters), "wait": 1, "share": 0}[train.together]
        self.turns = [Line(1) for _ in range(alone)]
        self.lines = dict(zip(("supply", "raw", "drain"), (Line(places) for places in train.lines), strict=True))
        self.starts: list[float] = []
        self.latest: dict[int, float] = {}
        self.marks: list[Mark] = []
        self.set_times = sorted(self.known_times())

    def faults_of(self, filter: Filter, what: str) -> list[Fault]:
        return [fault for fault in self.train.faults if fault.what == what and fault.filter == filter.name]

    def face(self, place: int, known: float) -> Face:
        """The clock of a filter as somebody expects it who knows what has failed and been mended up to a time."""
        filter = self.train.filters[place]
        wrong, cuts = (
            [replace(each, end=each.end if each.end <= known else NEVER) for each in faults if each.start <= known]
            for faults in (self.faults_of(filter, "clock"), self.cuts)
        )
        return Face(self.train, filter.clock, wrong, cuts)

    def slots_of(self, place: int, face: Face) -> Iterator[Slot]:
        """All that any trigger of a filter, or its longest run, could start at."""
        each = self.train.filters[place]
        hours = {each.longest_run_at} | set(self.hours_of(each))
        for day in range(-1, int((self.train.length + BEYOND) // DAY)):
            for hour in hours - {None}:
                assert hour is not None
                shown = self.midnight + day * DAY + hour
                time = face.first_at(shown)
                if time is not None:
                    yield Slot(time, shown, hour, day)

    def expected_slots(self, place: int) -> list[Slot]:
        """Slots as the filter expects them now."""
        changes = sum(time <= self.now for fault in self.train.faults for time in (fault.start, fault.end))
        if (place, changes) not in self.expected:
            self.expected[place, changes] = list(self.slots_of(place, self.face(place, self.now)))
        return self.expected[place, changes]

    def closings_of(self, place: int) -> Iterator[tuple[float, float]]:
        """From when to when the contact of a filter is closed."""
        spans = [
            span for each in self.train.filters[place].triggers if isinstance(each, Contact) for span in each.spans
        ]
        for day in range(-1, int((self.train.length + BEYOND) // DAY)):
            for start, end in spans:
                face = self.midnight + day * DAY + start
                begins = 0.0 if face <= self.faces[place].at(0.0) else self.faces[place].first_at(face)
                ends = self.faces[place].first_at(face + ((end - start) % DAY or DAY))
                if begins is not None and ends is not None and begins < ends:
                    yield begins, ends

    @staticmethod
    def hours_of(filter: Filter) -> tuple[float, ...]:
        """The hours that its triggers name."""
        found: list[float] = []
        for trigger in filter.triggers:
            if isinstance(trigger, Calendar):
                found += trigger.hours
            elif isinstance(trigger, Meter | Contact) and trigger.hour is not None:
                found.append(trigger.hour)
        return tuple(found)

    def known_times(self) -> set[float]:
        """Instants that no wash moves."""
        train = self.train
        times = {slot.time for slots in self.slots for slot in slots}
        times |= {time for fault in train.faults for time in (fault.start, fault.end)}
        times |= {time for each in train.filters for time in each.by_hand}
        edges = {0.0, *(hour for span in train.allowed for hour in span)}
        days = range(int(train.length // DAY) + 2)
        times |= {self.midnight + day * DAY + edge for day in days for edge in edges}
        for place in range(len(train.filters)):
            times |= {piece[0] for piece in self.faces[place].pieces}
            times |= {time for closing in self.closings[place] for time in closing}
        return {time for time in times if 0.0 <= time < train.length}

    # What holds at an instant

    def powered(self) -> bool:
        return not any(cut.start <= self.now < cut.end for cut in self.cuts)

    def pace_of(self, meter: Filter) -> float:
        """What a meter shows of the water that passes it."""
        shown = 1.0
        for fault in self.faults_of(meter, "meter"):
            if fault.start <= self.now < fault.end:
                shown *= fault.number
        return shown

    def is_open(self, place: int) -> bool:
        """Whether water passes a filter, through a bed or round it."""
        serves = any(v.place == place and self.in_service(v) for v in self.vessels)
        return serves or self.train.filters[place].passes_raw

    @staticmethod
    def in_service(vessel: Vessel) -> bool:
        return vessel.state in ("serves", "asks", "queues", "waits for first lines")

    def flow_through(self, place: int) -> float:
        """Service, and what the rinses of later filters draw."""
        if not self.powered():
            return 0.0
        open_ones = [self.is_open(k) for k in range(len(self.train.filters))]
        flow = self.train.flow if all(open_ones) else 0.0
        for other in self.vessels:
            if other.place > place and other.state == "washes" and all(open_ones[: other.place]):
                step = other.filter.steps[other.step]
                flow += step.flow if step.do == "rinse" else 0.0
        return flow

    def rate(self, vessel: Vessel) -> float:
        if not self.in_service(vessel):
            return 0.0
        return self.flow_through(vessel.place) * self.pace_of(vessel.filter)

    # What starts a wash

    def at_slot(self, vessel: Vessel, hours: tuple[float | None, ...]) -> list[Slot]:
        return [slot for slot in self.slots[vessel.place] if slot.time == self.now and slot.hour in hours]

    def due(self, vessel: Vessel) -> str | None:
        """Why a vessel would wash now: the first reason as they are written, then by hand, a stuck switch last."""
        stuck = [each for each in vessel.filter.triggers if isinstance(each, Switch)]
        for trigger in (*(each for each in vessel.filter.triggers if each not in stuck), None, *stuck):
            cause = self.due_otherwise(vessel) if trigger is None else self.due_by(vessel, trigger)
            if cause is not None:
                return cause
        return None

    def due_otherwise(self, vessel: Vessel) -> str | None:
        """Why it would wash now whatever its triggers say."""
        if self.longest_run_is_over(vessel):
            return "longest run"
        return "by hand" if any(time <= self.now for time in self.hands_of(vessel)) else None

    def hands_of(self, vessel: Vessel) -> list[float]:
        """Washes by hand still to come."""
        return [time for time in vessel.filter.by_hand if time > vessel.last]

    def due_by(self, vessel: Vessel, trigger: Trigger) -> str | None:
        match trigger:
            case Calendar():
                slots = self.at_slot(vessel, trigger.hours)
                if any(self.counts(vessel, trigger, slot) for slot in slots):
                    vessel.slot = max(slot.face for slot in slots)  # one wash for all that the clock jumps past
                    return "calendar"
            case Interval():
                return "calendar" if self.now >= vessel.last + trigger.every else None
            case Meter():
                return self.due_by_meter(vessel, trigger)
            case Switch():
                for fault in self.faults_of(vessel.filter, "closed"):
                    since = max(vessel.waited_anew, fault.start)
                    if fault.start <= self.now < fault.end and self.now >= since + trigger.hold:
                        return "pressure drop"
            case Contact():
                return self.due_by_contact(vessel, trigger)
        return None

    def counts(self, vessel: Vessel, calendar: Calendar, slot: Slot) -> bool:
        """Whether a slot is one of the calendar's that has not been answered."""
        weekday = (self.weekday + slot.day) % 7
        if calendar.skips_closed and weekday in self.train.closed_weekdays:
            return False
        if calendar.every is None:
            return weekday in calendar.weekdays and (vessel.answered is None or slot.face > vessel.answered)
        if vessel.answered is None:
            return slot.face >= self.faces[vessel.place].at(vessel.last) + calendar.every - HAIR
        day = (vessel.answered - self.midnight + HAIR) // DAY
        first = self.midnight + day * DAY + min(calendar.hours)
        return vessel.answered < slot.face and (slot.day == day or slot.face >= first + calendar.every - HAIR)

    def due_by_meter(self, vessel: Vessel, meter: Meter) -> str | None:
        full = vessel.noticed >= meter.volume * (1.0 - 1e-12)
        if meter.reserve is None:
            at_once = meter.hour is None
            return "volume" if full and (at_once or self.at_slot(vessel, (meter.hour,))) else None
        if full:
            return "reserve spent"
        nearly = vessel.noticed >= (meter.volume - meter.reserve) * (1.0 - 1e-12)
        return "reserve hour" if nearly and self.at_slot(vessel, (meter.hour,)) else None

    def notice(self) -> None:
        """Volumes are noticed while every filter lets water through, not in a rinse of one that is closed, nor where
        the next wash follows at once."""
        if all(self.is_open(place) for place in range(len(self.train.filters))):
            for vessel in self.vessels:
                vessel.noticed = max(vessel.noticed, vessel.shown)

    def due_by_contact(self, vessel: Vessel, contact: Contact) -> str | None:
        for start, end in self.closings[vessel.place]:
            if vessel.signalled < start <= self.now < end and self.now >= self.held_since(start) + contact.hold:
                vessel.booked = True
        if not vessel.booked:
            return None
        return "signal" if contact.hour is None or self.at_slot(vessel, (contact.hour,)) else None

    def held_since(self, start: float) -> float:
        """Since when a contact counts that closed at `start`: a power cut makes its hold start anew."""
        return max([start, *(cut.end for cut in self.cuts if cut.end <= self.now)])

    def longest_run_is_over(self, vessel: Vessel) -> bool:
        """At the last of its hours before it has passed, but after the return to service; else as it passes."""
        each = vessel.filter
        if each.longest_run is None:
            return False
        passed = vessel.last + each.longest_run
        if self.now >= passed:
            return True
        hours = self.hours_of(each) if each.longest_run_at is None else (each.longest_run_at,)
        slots = self.expected_slots(vessel.place)
        later = any(self.now < slot.time <= passed for slot in slots if slot.hour in hours)
        return not later and self.now > vessel.began and bool(self.at_slot(vessel, hours))

    # What lets it start

    def allowed(self, vessel: Vessel) -> bool:
        """Whether power and rules let a wash start now."""
        train, now = self.train, self.now
        if not self.powered():
            return False
        if vessel.cause == "by hand":
            return True
        second = (now - self.midnight) % DAY
        if train.allowed and not within(train.allowed, 0.0 if DAY - second < HAIR else second + HAIR / 2):
            return False
        if self.starts and now < self.starts[-1] + train.least_interval - HAIR:
            return False
        today = (now - self.midnight + HAIR) // DAY
        if train.most_a_day is not None:
            that_day = sum((time - self.midnight + HAIR) // DAY == today for time in self.starts)
            if that_day >= train.most_a_day:
                return False
        if now < self.latest.get(vessel.place, -NEVER) + vessel.filter.least_interval - HAIR:
            return False
        washing = {other.filter.name for other in self.vessels if not self.in_service(other)}
        return not washing & set(vessel.filter.not_while)

    def lines_of(self, step: Step) -> list[Line]:
        if self.train.together != "share":
            return []
        wanted = {"backwash": ("supply", "drain"), "rinse": ("raw", "drain"), "settle": ()}[step.do]
        return [line for name, line in self.lines.items() if name in wanted]

    def turn_of(self, vessel: Vessel) -> Line | None:
        if not self.turns:
            return None
        return self.turns[vessel.place if self.train.together == "overlap" else 0]

    def move(self, vessel: Vessel) -> None:
        """Take a vessel that asks for a wash as far as it gets."""
        while True:
            if vessel.state == "asks":
                if not self.allowed(vessel):
                    return
                vessel.state = "queues"
            turn = self.turn_of(vessel)
            if vessel.state == "queues":
                if turn is not None and not turn.take(vessel):
                    return
                vessel.state = "waits for first lines"
            if not self.take_lines(vessel, vessel.filter.steps[0]):
                return
            if self.allowed(vessel):
                self.start(vessel)
                return
            self.let_go(vessel)
            if turn is not None:
                turn.give_back()
            vessel.state = "asks"

    def take_lines(self, vessel: Vessel, step: Step) -> bool:
        for line in self.lines_of(step):
            if line not in vessel.held:
                if not line.take(vessel):
                    return False
                vessel.held.append(line)
        return True

    @staticmethod
    def let_go(vessel: Vessel) -> None:
        while vessel.held:
            vessel.held.pop(0).give_back()

    # The wash

    def start(self, vessel: Vessel) -> None:
        vessel.last, vessel.answered = self.now, vessel.slot if vessel.cause == "calendar" else None
        self.marks.append(Mark(self.now, vessel.filter.name, vessel.number, vessel.cause))
        self.begin(vessel, 0)

    def begin(self, vessel: Vessel, step: int) -> None:
        if step == 0:
            self.starts.append(self.now)
            self.latest[vessel.place] = self.now
        vessel.state, vessel.step = "washes", step
        vessel.step_ends = self.now + vessel.filter.steps[step].seconds

    def next_step(self, vessel: Vessel) -> None:
        """The step of a vessel is over: the next one once its lines are free, or back to service."""
        step = vessel.step + 1
        if step == len(vessel.filter.steps):
            self.serve(vessel)
        elif self.take_lines(vessel, vessel.filter.steps[step]):
            self.begin(vessel, step)
        else:
            vessel.state = "waits for lines"

    def serve(self, vessel: Vessel) -> None:
        self.marks.append(Mark(self.now, vessel.filter.name, vessel.number, "back"))
        vessel.state, vessel.began, vessel.waited_anew = "serves", self.now, self.now
        vessel.shown, vessel.noticed, vessel.booked, vessel.slot = 0.0, 0.0, False, None
        turn = self.turn_of(vessel)
        if turn is not None:
            turn.give_back()

    # Power

    def power_fails(self, cut: Fault) -> None:
        for vessel in self.vessels:
            if vessel.state == "washes" or vessel.state == "waits for lines":
                if cut.home:
                    vessel.state, vessel.step_ends = "is broken off", NEVER
                    for line in self.lines.values():
                        line.forget(vessel)
                    self.let_go(vessel)
                elif vessel.state == "washes":
                    vessel.left, vessel.step_ends = vessel.step_ends - self.now, NEVER

    def power_returns(self) -> None:
        for vessel in self.vessels:
            vessel.waited_anew = self.now
            if vessel.state == "washes":
                vessel.step_ends = self.now + vessel.left
            elif vessel.state == "is broken off":
                if not self.train.wash_again:
                    self.serve(vessel)
                elif self.take_lines(vessel, vessel.filter.steps[0]):
                    self.begin(vessel, 0)
                else:
                    vessel.state, vessel.step = "waits for lines", -1

    # Time

    def look(self) -> None:
        """Everything that happens now: power, ends of steps, what is due, lines handed on, until nothing moves."""
        self.notice()
        for cut in self.cuts:
            if cut.end == self.now:
                self.power_returns()
        for cut in self.cuts:
            if cut.start == self.now:
                self.power_fails(cut)
        for vessel in self.vessels:
            if vessel.state == "washes" and vessel.step_ends <= self.now:
                self.let_go(vessel)
                self.next_step(vessel)
        self.act()
        self.notice()
        self.act()

    def act(self) -> None:
        """What is due asks, and whoever has what it needs begins."""
        if self.powered():
            for vessel in self.vessels:
                if vessel.state == "serves" and (cause := self.due(vessel)) is not None:
                    vessel.state, vessel.cause = "asks", cause
                    if cause == "signal":
                        vessel.signalled = self.now
                if vessel.state == "asks":
                    self.move(vessel)
        self.hand_on()

    def hand_on(self) -> None:
        """Turns and lines go to those who were first in the queue; whoever has what it needs begins."""
        while True:
            before = [(v.state, v.step, len(v.held)) for v in self.vessels]
            for vessel in self.vessels:
                if vessel.state in ("queues", "waits for first lines"):
                    self.move(vessel)
                elif vessel.state == "waits for lines":
                    step = vessel.step + 1
                    if self.take_lines(vessel, vessel.filter.steps[step]):
                        self.begin(vessel, step)
                elif vessel.state == "asks" and self.powered():
                    self.move(vessel)
            if before == [(v.state, v.step, len(v.held)) for v in self.vessels]:
                return

    def moved_times(self) -> Iterator[float]:
        """Instants ahead that depend on what has happened."""
        if self.starts:
            yield self.starts[-1] + self.train.least_interval
        for place, each in enumerate(self.train.filters):
            if place in self.latest:
                yield self.latest[place] + each.least_interval
        for vessel in self.vessels:
            yield vessel.step_ends
            if vessel.state == "serves":
                yield from self.own_times(vessel)

    def own_times(self, vessel: Vessel) -> Iterator[float]:
        each = vessel.filter
        if each.longest_run is not None:
            yield vessel.last + each.longest_run
        for trigger in each.triggers:
            match trigger:
                case Interval():
                    yield vessel.last + trigger.every
                case Meter():
                    rate = self.rate(vessel)
                    marks = {trigger.volume, trigger.volume - (trigger.reserve or 0.0)}
                    for mark in marks:
                        if rate > 0.0 and mark > vessel.shown:
                            yield self.now + (mark - vessel.shown) / rate
                case Switch():
                    for fault in self.faults_of(each, "closed"):
                        yield max(vessel.waited_anew, fault.start) + trigger.hold
                case Contact():
                    for start, end in self.closings[vessel.place]:
                        if start <= self.now < end:
                            yield self.held_since(start) + trigger.hold

    def run(self) -> list[Mark]:
        place = 0
        while True:
            self.look()
            while place < len(self.set_times) and self.set_times[place] <= self.now:
                place += 1
            known = self.set_times[place] if place < len(self.set_times) else NEVER
            then = min([known, *(time for time in self.moved_times() if time > self.now)])
            if then >= self.train.length:
                return self.marks
            for vessel in self.vessels:
                vessel.shown += self.rate(vessel) * (then - self.now)
            self.now = then


def washes(train: Train) -> list[Mark]:
    """Every start of a wash and every return to service, in order of time."""
    return Schedule(train).run()
