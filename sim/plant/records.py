"""What a run leaves behind: frozen records in SI, with the unit in every name."""

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum
from typing import Literal, NamedTuple

from sim.case.chemistry.records import Solute
from sim.case.record import record

Figure = float | int | None
Way = Literal["in", "dosed", "formed", "to_service", "to_drain", "held", "converted"]
"""Where what is dissolved comes from and where it goes: in, dosed and formed equal all the others."""

SHORT_OF_WATER = 0.99
"""Of the flow that a step of a wash asks for: reaching less is told."""


class Cause(StrEnum):
    """Why a wash started."""

    CALENDAR = "calendar"
    VOLUME = "volume"
    RESERVE_HOUR = "reserve reached, at its hour"
    RESERVE_SPENT = "reserve spent"
    PRESSURE = "pressure drop"
    SIGNAL = "signal"
    LONGEST_RUN = "longest run"
    HAND = "by hand"


class Why(StrEnum):
    """Why a phase of the plant ended."""

    TRIGGER = "trigger met"
    TIME = "time up"
    RUN_END = "run ended"
    FLOOR = "pores at their floor"
    SUPPLY = "supply gives less than asked for"
    HOURS = "outside the hours that the site allows"
    INTERVAL = "too soon after the wash before it"
    A_DAY = "as many washes that day as the site allows"
    LINE = "another vessel uses it"
    ABORT = "broken off"
    NOT_CLEAN = "not clean enough"
    WASH = "during the wash"
    SISTER = "another vessel washes"
    CLOSED = "no water from the train"
    SPIKE = "a spike alone stood above the set point"
    HOLD = "the hold was not over"
    UNIT_RUNS = "the unit runs"
    TANK_LOW = "the tank is too low"
    STORE = "less in store than the step asks for"
    DRAIN = "drain takes less than asked for"
    POWER = "power cut"
    FAULT = "as the case says"


class Event(StrEnum):
    """What can happen in a run: the words of its log, with the data of a `LogEntry` in braces."""

    BOOKED = "wash booked"
    PUT_OFF = "wash put off"
    WAITS_FOR_TURN = "waits for its turn"
    WAITS_FOR_LINE = "waits for the {line} line"
    WAITED = "has waited {minutes:.4g} min"
    WASH_STARTS = "wash starts"
    BLOCKED = "bed was blocked"
    SET_OFF_EARLY = "set off early"
    MISSED = "set point passed {times} times without a wash"
    SHORT_OF_WATER = "{step} short of water"
    STORE_EMPTY = "store is empty"
    REGENERATED = "regenerated from {free_before:.0%} to {free_after:.0%} of its capacity"
    STEP_ENDS = "{step} ends"
    BROKEN_OFF = "{step} broken off"
    WASHES_AGAIN = "washes again"
    CUT_SHORT = "wash cut short"
    STANDS_BY = "stands by"
    BACK = "back in service"
    UNIT_HELD = "unit held"
    UNIT_RELEASED = "unit released"
    UNIT_STARVED = "unit starved of water"
    FAULT_BEGINS = "begins: {fault}"
    FAULT_ENDS = "over: {fault}"
    RUN_ENDS = "run ends"


class LogEntry(NamedTuple):
    """One event: at `time_s` from the start of the run, to `who` (a vessel, the site, or the
    stage of a fault).

    The rest is None where the event has none of it: water and solids that a step moved, the `step`, the `line` waited
    for, `minutes` waited, `times` that a set point was passed,
    shares of its whole capacity that a bed has before and after a regeneration, the `fault`.
    """

    time_s: float
    who: str
    event: Event
    why: Cause | Why
    volume_m3: float | None = None
    solids_kg: float | None = None
    step: str | None = None
    line: str | None = None
    minutes: float | None = None
    times: int | None = None
    free_before: float | None = None
    free_after: float | None = None
    fault: str | None = None

    @property
    def what(self) -> str:
        """The event in the words of the log, for a reader: nothing is read back from them."""
        return self.event.value.format_map(self._asdict())


class FilterRun(NamedTuple):
    """One filter run of one vessel of a stage: from its return to service to the start of its wash.

    Both pressure drops are at the flow and water temperature of the run's last moment with flow, so
    that their difference is what the deposit did. `residual_g_m2`
    is the deposit that the wash before the run left in the bed. `unused_capacity` is None where neither a limit nor a
    set point would ever be met. `cause` is None for the run that the end of the simulation cut short. It broke
    through where the filtered water of its stage was over the limit at a moment at which this bed, rinsed and
    ripened but with the deposit that it held, would have been over it too, and beds just washed would not;
    so it did where it was over a limit of what is dissolved that its beds as the run began would have kept.
    `capacity_left`: of the capacity with which the run began, the share still there; None where nothing restores it.
    """

    stage: str
    vessel: int
    number: int
    start_s: float
    end_s: float
    cause: Cause | None
    volume_m3: float
    load_g_m2: float
    residual_g_m2: float
    clean_dp_kpa: float
    end_dp_kpa: float
    over_limit_h: float
    unused_capacity: float | None
    blocked: bool
    broke_through: bool
    capacity_left: float | None = None


@record
class RunResult:
    """Everything one run of one policy leaves: events, filter runs, KPIs of site and stages, counts of work.

    `wash_flows`: of each stage, step by step, the least mean flow of any wash [m3/s]; None where the step was never
    made, or asks for no flow. `solutes`: the ledger of what is dissolved, by stage or "site", solute and way [kg];
    empty where nothing is.
    """

    policy: str
    seed: int
    replicate: int
    days: float
    log: tuple[LogEntry, ...]
    runs: tuple[FilterRun, ...]
    site: dict[str, Figure]
    stages: dict[str, dict[str, Figure]]
    wash_flows: dict[str, tuple[float | None, ...]]
    counts: dict[str, int]
    solutes: Mapping[str, Mapping[Solute, Mapping[Way, float]]] = field(default_factory=dict)
