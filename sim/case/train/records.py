"""Frozen records of what stands around the filters of a train: the unit it feeds, sister vessels, the pressure
switch, the pump, and the rules of the site for washing.

Units as in `records`: m3, m3/s, Pa, s; solids g, concentration g/m3; times of day in seconds after midnight,
moments in seconds from the start of the run.
"""

from datetime import date
from typing import Literal

from sim.case.record import record

Membrane = Literal["polyamide"]
Arrangement = Literal["parallel", "duty standby", "alternating"]
Together = Literal["overlap", "wait", "share"]
AfterAbort = Literal["return", "wash again"]


@record
class Tank:
    """A product tank: its volume, the levels at which the unit that fills it starts and stops, the first level [m3].

    0 <= start_below < stop_above <= volume. The unit starts once the level is at or below `start_below` and stops
    once it is at or above `stop_above`; at the start of the run it stands, unless the first level makes it start.
    """

    volume: float
    start_below: float
    stop_above: float
    level: float


@record
class Unit:
    """A unit that runs or stands: while it runs it draws `feed_flow` [m3/s] from the train.

    The share `recovery` of it becomes product and goes into the tank, the rest leaves as concentrate. The demand of
    the case is then what leaves the tank.
    """

    feed_flow: float
    recovery: float
    tank: Tank


@record
class Cartridge:
    """A cartridge filter before the unit: it catches a `share` of the solids and is full at `capacity` [g]."""

    capacity: float
    share: float


@record
class Downstream:
    """The unit that the filtered water feeds.

    `membrane`: what that of the unit is made of, None where it has none or nobody says. `unit` None: the demand is
    delivered straight from the train. feed_limit [g/m3] of solids that the unit's feed may carry, apart from the
    limits of the stages.
    """

    membrane: Membrane | None
    unit: Unit | None
    feed_limit: float | None
    cartridge: Cartridge | None


@record
class Vessels:
    """How many equal vessels a stage has: all in service at once, or one in service and the others clean beside it.

    With `inhibit_while_sister_washes` a pressure drop does not count, and a hold starts anew, while another vessel of
    the stage is off line: the flow through those left is then higher.
    """

    count: int
    arrangement: Arrangement = "parallel"
    inhibit_while_sister_washes: bool = True

    @property
    def sharing(self) -> int:
        """Vessels that share the flow of the stage when none is off line."""
        return self.count if self.arrangement == "parallel" else 1


ONE_VESSEL = Vessels(count=1)


@record
class HoldUnit:
    """The part of a wash during which the unit downstream is held: from the start of step `start` to the end of step
    `end` (their places, from 0; None: until the vessel is back in service), and `plus` so long [s]."""

    start: int = 0
    end: int | None = None
    plus: float = 0.0


@record
class Switch:
    """A pressure switch that reads averages over `sample` [s], with independent normal errors.

    `error` is their standard deviation [Pa]. Once at or above the set value it is on until a reading lies more than
    `reset_difference` [Pa] below it. The sample of 5 s is a setting, no constant of the model.
    """

    sample: float = 5.0
    error: float = 0.0
    reset_difference: float = 0.0


@record
class StartSpike:
    """What every start of the unit downstream adds to the signal: `height` [Pa] for `length` [s]."""

    height: float
    length: float


@record
class ValveSpike:
    """What valves moving elsewhere add to the signal: `height` [Pa] for `length` [s], at random, so many `a_day`."""

    height: float
    length: float
    a_day: float


@record
class Pump:
    """The pump that drives the water through the train in service: points of its curve, flow [m3/s], pressure [Pa].

    Straight between the points, nothing beyond the last. `delivery` [Pa above ambient] is the pressure kept behind
    the last stage, rises included; `other_loss` [Pa/(m3/s)^2] covers pipes. A demand that the curve cannot meet with
    the beds as they are is met as far as it can.
    """

    flows: tuple[float, ...]
    pressures: tuple[float, ...]
    delivery: float
    other_loss: float = 0.0


@record
class HoursOfDay:
    """From `start` up to, not including, `end` [s after midnight], over midnight where the end is the smaller one."""

    start: float
    end: float

    def holds(self, second: float) -> bool:
        """Whether a time of day [s after midnight] lies in the span, its start included, its end not."""
        if self.start < self.end:
            return self.start <= second < self.end
        return second >= self.start or second < self.end


@record
class Lines:
    """How many vessels at once the wash supply, the raw line and the drain can take."""

    supply: int = 1
    raw: int = 1
    drain: int = 1


@record
class RepeatWash:
    """A wash is repeated at once, up to `most` times, while it did not clean well enough.

    That is: the pressure drop on the return to service, at the flow and temperature of that moment, is more than
    `clean_within` [Pa] above that of the bed without deposit.
    """

    clean_within: float
    most: int = 1


@record
class Abort:
    """The first wash of a stage that starts at or after `at` [s] is broken off `after` [s] from its start."""

    stage: str
    at: float
    after: float


@record
class ByHand:
    """Someone starts a wash of a stage at `at` [s]; it waits for its turn and for nothing else."""

    stage: str
    at: float


@record
class Washing:
    """The rules of the site for the start of washes, whatever the policy.

    Hours, `least_interval` [s] between the starts of any two washes and `most_a_day` (midnight to midnight) put off
    washes by a trigger or the longest run; not those by hand, nor repeats, though both count.
    `together`: "overlap" where stages know nothing of each other, and only the vessels of one take turns; "wait" lets
    one vessel of the site wash at a time, "share" as many as every step's lines can take. After a wash
    that is broken off the filter returns to service as it is, or washes again at once from the first step.
    `closed_days`: weekdays (0 is Monday) or dates, which a calendar may skip.
    """

    allowed_hours: tuple[HoursOfDay, ...] = ()
    locked_hours: tuple[HoursOfDay, ...] = ()
    least_interval: float = 0.0
    most_a_day: int | None = None
    together: Together = "overlap"
    lines: Lines = Lines()
    repeat_wash: RepeatWash | None = None
    aborts: tuple[Abort, ...] = ()
    after_abort: AfterAbort = "return"
    by_hand: tuple[ByHand, ...] = ()
    closed_days: tuple[int | date, ...] = ()

    @property
    def closed_hours(self) -> tuple[HoursOfDay, ...]:
        """The spans of the day in which no wash may start: those between the allowed ones, then the locked ones."""
        known = sorted(self.allowed_hours, key=lambda each: each.start)
        pairs = zip(known, known[1:] + known[:1], strict=True)
        between = (HoursOfDay(start=each.end, end=after.start) for each, after in pairs)
        return (*between, *self.locked_hours)

    def hour_is_open(self, second: float) -> bool:
        """Whether a wash may start at a time of day [s after midnight]."""
        allowed = not self.allowed_hours or any(span.holds(second) for span in self.allowed_hours)
        return allowed and not any(span.holds(second) for span in self.locked_hours)


NO_RULES = Washing()
