"""What can be behind a log that is not as the case says: faults, changes, symptoms, and what to look at next."""

from collections.abc import Mapping
from enum import StrEnum

from sim.case.record import record
from sim.study.faults_possible import Kind


class Change(StrEnum):
    """What changes at a plant without anything failing."""

    MORE_SOLIDS = "more solids in the feed"
    COLDER = "colder water"
    FASTER_GROWTH = "pressure drop grows faster"
    LESS_CAPTURE = "bed holds back less"
    LESS_CLEANING = "washes clean less"
    VALVE = "valve or underdrain half shut"
    MORE_DEMAND = "more water asked for"
    LESS_DEMAND = "less water asked for"


class Symptom(StrEnum):
    """What somebody can say without a log."""

    HIGH_CLEAN = "the pressure drop is high right after a wash"
    LOW_CLEAN = "the pressure drop is low right after a wash"
    MORE_OFTEN = "washes come more often than before"
    LESS_OFTEN = "washes come less often than before"
    NO_WASH = "no wash comes"
    WRONG_HOUR = "washes come at another hour than before"
    DIRTY_AFTER = "dirty water after a wash"
    DIRTY_LATE = "dirty water late in a run"
    HARD = "hard water"
    LESS_DRAIN = "less water to drain than before"
    MORE_DRAIN = "more water to drain than before"


class Look(StrEnum):
    """What parts causes that a log cannot part, the easiest first."""

    CLOCK = "compare the controller's clock with a watch"
    SALT = "look at the salt and at the level of the brine tank"
    DRAIN = "catch or time the water to drain of one wash"
    METER = "compare the meter with a known volume"
    INLET = "read turbidity and temperature of the feed"
    CLEAN = "read the pressure drop right after a wash, at a known flow"
    SWITCH = "read a second gauge at the moment at which a wash starts"
    AFTER_WASH = "read turbidity out hourly after a wash"
    HARDNESS = "test hardness out just before a wash"
    WASH = "watch a wash from start to end"
    TWO_FLOWS = "read the pressure drop at two flows right after a wash"
    BED = "measure how deep the bed is, and look for mud balls"


@record
class Cause:
    """One fault or change, with its probability among all that were tried, healthy included.

    `since` [s from the start of the log]: when it seems to have begun, 0 from the start, None where nobody can say.
    `size`: the share or amount of the fault, as a case has it, the factor of a change, degC of colder water; None
    where it has none. `inseparable_from`: at most two others that these readings cannot tell from it.
    """

    what: Kind | Change
    stage: str | None
    probability: float
    since: float | None
    size: float | None
    inseparable_from: tuple[Kind | Change, ...] = ()


@record
class Diagnosis:
    """Causes, the likeliest first; `healthy`: the probability that nothing differs from the case.

    `margin`: by how much the score of the first cause beats that; `alarm`: whether by more than chance does in 19 of
    20 healthy logs. `next`: the look that parts the first from those that it cannot be told from, or else from the
    runner-up; None where none does.
    """

    stage: str
    causes: tuple[Cause, ...]
    healthy: float
    margin: float
    alarm: bool
    next: Look | None


SHOWS: Mapping[Look, frozenset[Kind | Change]] = {
    Look.CLOCK: frozenset({"clock slow", "clock fast"}),
    Look.SALT: frozenset({"salt out", "brine not drawn"}),
    Look.DRAIN: frozenset({"wash supply weak", "drain restricted"}),
    Look.METER: frozenset({"meter low", "meter high", "meter stuck"}),
    Look.INLET: frozenset({Change.MORE_SOLIDS, Change.COLDER}),
    Look.CLEAN: frozenset({
        Change.VALVE, Change.LESS_CLEANING, "bed mudballed", "media lost", "wash supply weak", "drain restricted",
    }),
    Look.SWITCH: frozenset({
        "switch stuck open", "switch stuck closed", "switch chatters", "switch drifts low", "switch drifts high",
        "tap plugged",
    }),
    Look.AFTER_WASH: frozenset({Change.LESS_CAPTURE, "media lost", "raw water past the bed"}),
    Look.HARDNESS: frozenset({"capacity lost", "brine not drawn", "salt out"}),
    Look.WASH: frozenset({"drain restricted", "valve passing", "brine not drawn"}),
    Look.TWO_FLOWS: frozenset({Change.VALVE}),
    Look.BED: frozenset({"media lost", "bed mudballed"}),
}  # fmt: skip
"""Causes that a look shows, from memory of the trade: it parts them from all others, not from each other."""
