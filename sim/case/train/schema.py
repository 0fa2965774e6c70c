"""The tables [downstream], [pump] and [washing] of a case file, and what a stage says of its place in the train."""

from datetime import date
from typing import TYPE_CHECKING, Annotated

from pydantic import create_model

from sim.case import units
from sim.case.limits import SOLIDS, SOME_FLOW, TURBIDITY, Flow, Loss, Pressure, SomeLoss, SquareLaw
from sim.case.table import Table
from sim.case.time_rules import DayHours, Moment, WeekdayOrDate
from sim.case.train.records import AfterAbort, Arrangement, HoursOfDay, Membrane, Together
from sim.case.values import (
    Amount,
    Either,
    Items,
    Number,
    OneOf,
    Quantity,
    Share,
    ShareOr,
    Text,
    Whole,
    YesNo,
)

MOST_VESSELS, MOST_POINTS, MOST_HOURS, MOST_MOMENTS = 12, 50, 12, 200
MOST_DAYS = 1000
START, END = "wash start", "back in service"
STEPS = ("backwash", "settle", "regenerant", "displacement", "rinse", "make-up")

TANK_VOLUME = Quantity(units.VOLUME, "1 L", "1000000 m3")
Level = Annotated[Share | float, ShareOr(Quantity(units.VOLUME, "0 m3", "1000000 m3"))]
Short = Annotated[float, Quantity(units.DURATION, "0.1 s", "10 min", like="4 s")]
CAUGHT = Number(0.01, 1.0, like=0.9)
VesselCount = Annotated[int, Whole(1, MOST_VESSELS)]
STAGE_NAME = Text(60, like="filter")


class TankTable(Table):
    """The product tank; its levels as shares of the volume or as volumes."""

    volume: Annotated[float, TANK_VOLUME]
    start_below: Level
    stop_above: Level
    level: Level | None = None


class CartridgeTable(Table):
    """A cartridge filter before the unit: what it holds, as a mass or by its area, and the share that it catches."""

    capacity: Annotated[float, Quantity(units.MASS, "0.1 g", "100000 kg")] | None = None
    area: Annotated[float, Quantity(units.AREA, "1 cm2", "100000 m2")] | None = None
    per_area: Annotated[float, Quantity(units.MASS_PER_AREA, "0.1 g/m2", "100 kg/m2")] | None = None
    share: Annotated[float, CAUGHT]


class DownstreamTable(Table):
    """The unit that the filtered water feeds."""

    membrane: Membrane | None = None
    feed_flow: Annotated[float, SOME_FLOW] | None = None
    recovery: Annotated[float, Number(0.01, 1.0, like=0.75)] | None = None
    tank: TankTable | None = None
    feed_limit: Annotated[Amount, Either(SOLIDS, TURBIDITY)] | None = None
    cartridge: CartridgeTable | None = None


class PumpTable(Table):
    """The pump that drives the water through the train: its curve, and the pressure wanted behind the last stage."""

    flow: Annotated[list[Flow], Items(2, MOST_POINTS)]
    pressure: Annotated[list[Pressure], Items(2, MOST_POINTS)]
    delivery: Pressure
    other_loss: SquareLaw | None = None


class VesselsTable(Table):
    """How many equal vessels a stage has, and how they share the work."""

    count: VesselCount
    arrangement: Arrangement | None = None
    inhibit_while_sister_washes: YesNo | None = None


if TYPE_CHECKING:
    _Begun = Table
else:  # a key that is a word of Python
    _Begun = create_model("_Begun", __base__=Table, **{"from": (Annotated[str, OneOf(START, *STEPS)], START)})


class HoldUnitTable(_Begun):
    """From the start of which step of a wash to the end of which the unit downstream is held, and how long after."""

    until: Annotated[str, OneOf(END, *STEPS)] = END
    plus: Annotated[float, Quantity(units.DURATION, "0 s", "24 h", like="5 min")] | None = None


class SwitchTable(Table):
    """What the pressure switch reads: averages over a sample, their random error, and how it resets."""

    sample: Short | None = None
    error: Loss | None = None
    reset_difference: Loss | None = None


class StartSpikeTable(Table):
    """What a start of the unit downstream adds to the signal, and for how long."""

    height: SomeLoss
    length: Short


class ValveSpikeTable(Table):
    """What valves that move elsewhere add to the signal, for how long and how often."""

    height: SomeLoss
    length: Short
    a_day: Annotated[float, Number(0.01, 1000.0, like=6.0)]


class LinesTable(Table):
    """How many vessels at once the lines that washes share can take."""

    supply: VesselCount = 1
    raw: VesselCount = 1
    drain: VesselCount = 1


class RepeatWashTable(Table):
    """How clean a wash must leave a filter, or it is repeated, and how often at the most."""

    clean_within: SomeLoss
    most: Annotated[int, Whole(1, 5)] = 1


class AbortTable(Table):
    """A wash that is broken off: the first of a stage from a moment on, so long after its start."""

    stage: Annotated[str, STAGE_NAME]
    at: Moment
    after: Annotated[float, Quantity(units.DURATION, "1 s", "24 h", like="6 min")]


class ByHandTable(Table):
    """A wash that someone starts by hand."""

    stage: Annotated[str, STAGE_NAME]
    at: Moment


class WashingTable(Table):
    """The rules of the site for the start of washes, whatever starts them, and what goes wrong with some."""

    allowed_hours: Annotated[list[Annotated[HoursOfDay, DayHours()]], Items(1, MOST_HOURS)] | None = None
    locked_hours: Annotated[list[Annotated[HoursOfDay, DayHours()]], Items(1, MOST_HOURS)] | None = None
    least_interval: Annotated[float, Quantity(units.DURATION, "1 min", "366 d")] | None = None
    most_a_day: Annotated[int, Whole(1, 1000)] | None = None
    closed_days: Annotated[list[Annotated[int | date, WeekdayOrDate()]], Items(1, MOST_DAYS)] | None = None
    together: Together = "overlap"
    lines: LinesTable | None = None
    repeat_wash: RepeatWashTable | None = None
    abort: Annotated[list[AbortTable], Items(1, MOST_MOMENTS)] | None = None
    after_abort: AfterAbort | None = None
    by_hand: Annotated[list[ByHandTable], Items(1, MOST_MOMENTS)] | None = None
