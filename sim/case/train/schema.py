"""The tables [downstream], [pump] and [washing] of a case file, and what a stage says of its place in the train."""

from datetime import datetime
from typing import Annotated, Literal

from sim.case import units
from sim.case.series.schema import SOLIDS, TURBIDITY
from sim.case.table import Table
from sim.case.time_rules import DayHours, LocalMoment
from sim.case.train.records import HoursOfDay
from sim.case.values import (
    Amount,
    Either,
    Flag,
    Items,
    LossAtFlow,
    Number,
    OneOf,
    Quantity,
    Share,
    ShareOr,
    Text,
    Whole,
)

MOST_VESSELS, MOST_POINTS, MOST_HOURS, MOST_MOMENTS = 12, 50, 12, 200

TANK_VOLUME = Quantity(units.VOLUME, "1 L", "1000000 m3")
LEVEL = ShareOr(Quantity(units.VOLUME, "0 m3", "1000000 m3"))
MINUTES = Number(0.0, 1440.0, like=10.0)
PRESSURE = Quantity(units.PRESSURE, "0 kPa", "10 bar")
SOME_PRESSURE = Quantity(units.PRESSURE, "1 Pa", "10 bar")
SHORT = Quantity(units.DURATION, "0.1 s", "10 min", like="4 s")
CAUGHT = Number(0.01, 1.0, like=0.9)
STAGE_NAME = Text(60, like="filter")


class TankTable(Table):
    """The product tank; its levels as shares of the volume or as volumes."""

    volume: Annotated[float, TANK_VOLUME]
    start_below: Annotated[Share | float, LEVEL]
    stop_above: Annotated[Share | float, LEVEL]
    level: Annotated[Share | float, LEVEL] | None = None


class CartridgeTable(Table):
    """A cartridge filter before the unit: what it holds, as a mass or by its area, and the share that it catches."""

    capacity: Annotated[float, Quantity(units.MASS, "0.1 g", "100000 kg")] | None = None
    area: Annotated[float, Quantity(units.AREA, "1 cm2", "100000 m2")] | None = None
    per_area: Annotated[float, Quantity(units.MASS_PER_AREA, "0.1 g/m2", "100 kg/m2")] | None = None
    share: Annotated[float, CAUGHT]


class DownstreamTable(Table):
    """The unit that the filtered water feeds."""

    membrane: Annotated[Literal["polyamide"], OneOf("polyamide")] | None = None
    feed_flow: Annotated[float, Quantity(units.FLOW, "1 L/h", "100000 m3/h")] | None = None
    recovery: Annotated[float, Number(0.01, 1.0, like=0.75)] | None = None
    tank: TankTable | None = None
    feed_limit: Annotated[Amount, Either(SOLIDS, TURBIDITY)] | None = None
    cartridge: CartridgeTable | None = None


class PumpTable(Table):
    """The pump that drives the water through the train: its curve, and the pressure wanted behind the last stage."""

    flow: Annotated[list[Annotated[float, Quantity(units.FLOW, "0 m3/h", "100000 m3/h")]], Items(2, MOST_POINTS)]
    pressure: Annotated[list[Annotated[float, Quantity(units.PRESSURE, "0 kPa", "100 bar")]], Items(2, MOST_POINTS)]
    delivery: Annotated[float, Quantity(units.PRESSURE, "0 kPa", "100 bar")]
    other_loss: (
        Annotated[
            float,
            LossAtFlow(Quantity(units.PRESSURE, "0 kPa", "10 bar"), Quantity(units.FLOW, "1 L/h", "100000 m3/h")),
        ]
        | None
    ) = None


class VesselsTable(Table):
    """How many equal vessels a stage has, and how they share the work."""

    count: Annotated[int, Whole(1, MOST_VESSELS)]
    arrangement: Annotated[Literal["parallel", "duty standby"], OneOf("parallel", "duty standby")] | None = None
    inhibit_while_sister_washes: Annotated[bool, Flag()] | None = None


class HoldUnitTable(Table):
    """From which minute of a wash to which the unit downstream is held; to its end if not said."""

    from_minute: Annotated[float, MINUTES] = 0.0
    to_minute: Annotated[float, MINUTES] | None = None


class SwitchTable(Table):
    """What the pressure switch reads: averages over a sample, their random error, and how it resets."""

    sample: Annotated[float, SHORT] | None = None
    error: Annotated[float, PRESSURE] | None = None
    reset_difference: Annotated[float, PRESSURE] | None = None


class StartSpikeTable(Table):
    """What a start of the unit downstream adds to the signal, and for how long."""

    height: Annotated[float, SOME_PRESSURE]
    length: Annotated[float, SHORT]


class ValveSpikeTable(Table):
    """What valves that move elsewhere add to the signal, for how long and how often."""

    height: Annotated[float, SOME_PRESSURE]
    length: Annotated[float, SHORT]
    a_day: Annotated[float, Number(0.01, 1000.0, like=6.0)]


class LinesTable(Table):
    """How many vessels at once the lines that washes share can take."""

    supply: Annotated[int, Whole(1, MOST_VESSELS)] = 1
    raw: Annotated[int, Whole(1, MOST_VESSELS)] = 1
    drain: Annotated[int, Whole(1, MOST_VESSELS)] = 1


class RepeatWashTable(Table):
    """How clean a wash must leave a filter, or it is repeated, and how often at the most."""

    clean_within: Annotated[float, SOME_PRESSURE]
    most: Annotated[int, Whole(1, 5)] = 1


class AbortTable(Table):
    """A wash that is broken off: the first of a stage from a moment on, so long after its start."""

    stage: Annotated[str, STAGE_NAME]
    at: Annotated[datetime, LocalMoment()]
    after: Annotated[float, Quantity(units.DURATION, "1 s", "24 h", like="6 min")]


class ByHandTable(Table):
    """A wash that someone starts by hand."""

    stage: Annotated[str, STAGE_NAME]
    at: Annotated[datetime, LocalMoment()]


class WashingTable(Table):
    """The rules of the site for the start of washes, whatever starts them, and what goes wrong with some."""

    allowed_hours: Annotated[list[Annotated[HoursOfDay, DayHours()]], Items(1, MOST_HOURS)] | None = None
    locked_hours: Annotated[list[Annotated[HoursOfDay, DayHours()]], Items(1, MOST_HOURS)] | None = None
    least_interval: Annotated[float, Quantity(units.DURATION, "1 min", "366 d")] | None = None
    most_a_day: Annotated[int, Whole(1, 1000)] | None = None
    together: Annotated[Literal["wait", "share"], OneOf("wait", "share")] = "wait"
    lines: LinesTable | None = None
    repeat_wash: RepeatWashTable | None = None
    abort: Annotated[list[AbortTable], Items(1, MOST_MOMENTS)] | None = None
    after_abort: Annotated[Literal["return", "wash again"], OneOf("return", "wash again")] | None = None
    by_hand: Annotated[list[ByHandTable], Items(1, MOST_MOMENTS)] | None = None
