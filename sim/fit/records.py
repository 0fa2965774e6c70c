"""What a fit to a plant's own log finds: plain data, SI inside, times in seconds since the start of the log."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Literal

from sim.case.record import record
from sim.case.stage.records import Growth
from sim.log.records import Log, What

Bound = Literal["both", "lower", "upper", "none"]


class Constant(StrEnum):
    """A constant of a stage that a log may tell, with the unit of its first key.

    The others of its keys keep their ratio to the first: one factor for all of them.
    """

    VALVE = "valve"  # Pa/(m3/s)2 of valve, piping and underdrain
    CLEAN_BED = "clean bed"  # viscous coefficient of the law of the clean bed [-]
    GROWTH = "growth"  # deposit density [g/m3] or gain of head loss [Pa/m per g/m3] of the first layer
    CAPTURE = "capture"  # filter coefficient of the first layer [1/m]
    CLEANING = "cleaning"  # cleaning rate of the backwash [1/s]
    SOLIDS_PER_TURBIDITY = "solids per turbidity"  # g/m3 per NTU
    SOFTENER_CAPACITY = "softener capacity"  # factor on the capacity that the case has [-]
    HALF_LENGTH = "half-length"  # of free chlorine in carbon [m]


class Need(StrEnum):
    """The reading that would settle a constant."""

    OTHER_FLOWS = "other flows"
    CLEAN_PRESSURE = "clean pressure"
    PRESSURE_DROP = "pressure drop"
    TURBIDITY_OUT = "turbidity out"
    TEMPERATURE = "temperature"
    SOLIDS_WEIGHED = "solids weighed"
    HARDNESS_OUT = "hardness out"
    BREAKTHROUGH = "breakthrough"
    CHLORINE_OUT = "chlorine out"
    LONGER_RUNS = "longer runs"
    MORE_WASHES = "more washes"
    MORE_READINGS = "more readings"


@record
class Fitted:
    """A constant as the log tells it: SI, in the unit of its first key.

    `before`: low, typical and high as the case has it, all equal where it is given. `low` to `high` holds 95 %;
    an end that the log does not bound is that of `before` or of the search, whichever lies farther out.
    Where it is not `identifiable` its `value` is that of the case, or the nearest that the log allows;
    `needs` is then the reading that would settle it, `inseparable_from` the constant with which it can be exchanged.
    """

    constant: Constant
    key: tuple[str, ...]
    value: float
    low: float
    high: float
    before: tuple[float, float, float]
    identifiable: bool
    bound: Bound
    needs: Need | None = None
    inseparable_from: Constant | None = None


@record
class Noise:
    """Of one kind of reading: standard deviation of what a fit leaves, its least by the resolution, readings used."""

    what: What
    sd: float
    floor: float
    count: int


@record
class Course:
    """One kind of reading beside what the case and the fitted case say of it; nan where nothing flowed."""

    what: What
    times: tuple[float, ...]
    read: tuple[float, ...]
    before: tuple[float, ...]
    after: tuple[float, ...]


@record
class HeldOut:
    """Runs kept back from a fit of the others: root mean square error of what that foretells, beside the expected."""

    what: What
    runs: int
    readings: int
    rms: float
    expected: float


@record
class Evidence:
    """What speaks for the law of growth that fits better: -2 ln L of the other less its own, in as many readings as
    count where errors within a run are alike."""

    better: Growth
    difference: float


@record
class Fit:
    """`law`: the law of growth that the log decides for, None where it leaves that open: the case's then stands.
    `bootstrap`: 95 % intervals from runs drawn anew, from 20 runs on."""

    stage: str
    log: Log
    law: Growth | None
    evidence: Evidence | None
    constants: tuple[Fitted, ...]
    noise: tuple[Noise, ...]
    predicted: tuple[Course, ...]
    held_out: tuple[HeldOut, ...]
    bootstrap: Mapping[Constant, tuple[float, float]] | None
    evaluations: int

    def of(self, constant: Constant) -> Fitted | None:
        """What is said of a constant; None where the stage has no such thing."""
        return next((each for each in self.constants if each.constant is constant), None)
