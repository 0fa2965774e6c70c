"""The tables [run], [feed] and [demand] of a case file, as the user writes them.

A series is one value, a profile over the hours of the day, a season, random weather, or a column of a CSV file.
"""

from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Generic, Literal, TypeAlias, TypeVar

from pydantic import Discriminator, Tag

from hydraulics.coagulant import PRODUCTS
from sim.case import units
from sim.case.chemistry.records import IN_FEED
from sim.case.limits import (
    ACIDITY,
    ACIDITY_IN_FILE,
    DISSOLVED,
    FLOW,
    HARDNESS,
    SOLIDS,
    TEMPERATURE,
    TURBIDITY,
    Flow,
    PartOfAll,
)
from sim.case.series.records import Oxidant
from sim.case.series.waters import WATERS
from sim.case.series.zones import ZoneOf
from sim.case.table import Table, value_or_table
from sim.case.time_rules import Day, Moment, YearDay
from sim.case.values import Amount, Either, Items, Number, OneOf, Quantity, Text

FACTOR = Number(0.0, 10.0, like=1.0)
Spread = Annotated[float, Number(1.0, 10.0, like=1.8)]
Memory = Annotated[float, Quantity(units.DURATION, "1 h", "366 d")]

HOURS = Items(24, 24)
MOST_DAYS = 1000
Solids = Annotated[float, SOLIDS]
Turbidity = Annotated[float, TURBIDITY]
Hardness = Annotated[float, HARDNESS]
Dissolved = Annotated[float, DISSOLVED]
Acidity = Annotated[float, ACIDITY]
Value = TypeVar("Value")
Weekdays = Annotated[list[Annotated[float, FACTOR]], Items(7, 7)]


class RunTable(Table):
    """When the run starts and how long it lasts, and which clock its times are read from."""

    start: Moment
    length: Annotated[float, Quantity(units.DURATION, "0 d", "18263 d")]
    allowed_over_limit: Annotated[float, Quantity(units.DURATION, "0 h", "8784 h")] | None = None
    zone: ZoneOf | None = None


class FileTable(Table):
    """A column of a CSV file with times in another, and what to do where it has no value or no likely one."""

    file: Annotated[str, Text(200, like="turbidity.csv")]
    column: Annotated[str, Text(200, like="turbidity_NTU")]
    unit: str
    time: Annotated[str, Text(200, like="time")] | None = None
    zone: ZoneOf | None = None
    clock: Literal["standard", "local"] | None = None
    scale: Annotated[float, Number(1e-6, 1e6, like=1.5)] | None = None
    gaps: Literal["refuse", "hold", "interpolate"] = "refuse"
    longest_gap: Annotated[float, Quantity(units.DURATION, "1 min", "366 d")] | None = None
    negative: Literal["refuse", "zero", "gap"] = "refuse"
    stuck: Literal["refuse", "gap", "keep"] = "refuse"
    stuck_after: Annotated[float, Quantity(units.DURATION, "1 min", "366 d")] | None = None


class YearlyFactor(Table):
    """A factor that swings about 1 over the year, highest on one date."""

    swing: PartOfAll
    highest_on: YearDay


class TemperatureVariation(Table):
    """How far the temperature of a day lies from that of the season (standard deviation), and for how long."""

    spread: Annotated[float, Quantity(units.TEMPERATURE_SWING, "0 degC", "10 degC")] | None = None
    memory: Memory | None = None


class TemperatureSeason(Table):
    """A temperature that swings over the year, highest on one date, and may vary from day to day."""

    mean: Annotated[float, TEMPERATURE]
    swing: Annotated[float, Quantity(units.TEMPERATURE_SWING, "0 degC", "25 degC")]
    highest_on: YearDay
    variation: TemperatureVariation | None = None


class TemperatureFile(FileTable):
    """A temperature from a column of a CSV file."""

    unit: Annotated[str, OneOf(*units.TEMPERATURE.units)]


class Profile(Table, Generic[Value]):
    """Values by the hour of the day, times a factor for each weekday (Monday first)."""

    hourly: Annotated[list[Value], HOURS]
    weekday: Weekdays | None = None


class YearlySwing(Table, Generic[Value]):
    """A value that swings over the year, highest on one date."""

    mean: Value
    swing: Value
    highest_on: YearDay


class ConcentrationFile(FileTable):
    """A concentration from a column of a CSV file."""

    unit: Annotated[str, OneOf(*units.CONCENTRATION.units)]


class TurbidityFile(FileTable):
    """Turbidity from a column of a CSV file."""

    unit: Annotated[str, OneOf(*units.TURBIDITY.units)]


class HardnessFile(FileTable):
    """A hardness from a column of a CSV file."""

    unit: Annotated[str, OneOf(*HARDNESS.kind.units)]


class AcidityFile(FileTable):
    """A pH from a column of a CSV file."""

    unit: Annotated[str, OneOf(*ACIDITY_IN_FILE.kind.units)]


class StormsTable(Table):
    """Random spells of stirred-up water: how many a year, how many times the usual they bring, how long they last."""

    per_year: Annotated[float, Number(0.0, 500.0, like=12.0)] | None = None
    height: Annotated[float, Number(1.0, 1000.0, like=6.0)] | None = None
    length: Annotated[float, Quantity(units.DURATION, "1 h", "60 d")] | None = None
    season: YearlyFactor | None = None


class Weather(Table, Generic[Value]):
    """Random weather: water that strays from its median by a factor, fast and slowly, with a season and storms."""

    spread: Spread | None = None
    memory: Memory | None = None
    slow_spread: Spread | None = None
    slow_memory: Memory | None = None
    season: YearlyFactor | None = None
    storms: StormsTable | None = None
    median: Value


def _names_a_file(raw: object) -> bool:
    return isinstance(raw, dict) and not raw.keys().isdisjoint({"file", "column", "unit"})


def _series_shape(raw: object) -> str:
    if not isinstance(raw, dict):
        return "<value>"
    if _names_a_file(raw):
        return "<file>"
    if not raw.keys().isdisjoint({"median", *Weather.model_fields}):
        return "<weather>"
    return "<profile>" if "hourly" in raw else "<season>"


def _temperature_shape(raw: object) -> str:
    return "<file>" if _names_a_file(raw) else value_or_table(raw)


File = TypeVar("File", bound=FileTable)

if TYPE_CHECKING:
    Shapes: TypeAlias = Value | Profile[Value] | YearlySwing[Value] | Weather[Value] | File
else:

    class Shapes:
        """A series of the feed in any of its shapes, with values and a file of its own kind."""

        def __class_getitem__(cls, kinds: tuple[Any, type[FileTable]]) -> Any:
            value, file = kinds
            return Annotated[
                Annotated[value, Tag("<value>")]
                | Annotated[Profile[value], Tag("<profile>")]
                | Annotated[YearlySwing[value], Tag("<season>")]
                | Annotated[Weather[value], Tag("<weather>")]
                | Annotated[file, Tag("<file>")],
                Discriminator(_series_shape),
            ]


SolidsSeries = Shapes[Solids, ConcentrationFile]
TurbiditySeries = Shapes[Turbidity, TurbidityFile]
HardnessSeries = Shapes[Hardness, HardnessFile]
DissolvedSeries = Shapes[Dissolved, ConcentrationFile]
AciditySeries = Shapes[Acidity, AcidityFile]

DISSOLVED_KEYS = (*IN_FEED, "pH")
"""The keys of a feed for what is dissolved in it."""

FEED_KEYS = ("suspended_solids", "turbidity", *DISSOLVED_KEYS)
"""The keys of a feed that take a series in any of its shapes."""


class CoagulantTable(Table):
    """What is dosed ahead of the first stage: a product, how much of it, and the solids that a gram of it forms."""

    product: Annotated[str, OneOf(*PRODUCTS)]
    dose: Annotated[
        Amount,
        Either(
            Quantity(units.CONCENTRATION, "0.01 mg/L", "1000 mg/L"),
            Quantity(units.DOSE_PER_TURBIDITY, "0.001 mg/L per NTU", "100 mg/L per NTU"),
        ),
    ]
    solids: Annotated[float, Number(0.05, 10.0, like=0.31)] | None = None


class FeedTable(Table):
    """The water that reaches the first stage: its temperature, its solids or turbidity, what is dissolved in it."""

    temperature: Annotated[
        Annotated[float, TEMPERATURE, Tag("<value>")]
        | Annotated[TemperatureSeason, Tag("<table>")]
        | Annotated[TemperatureFile, Tag("<file>")],
        Discriminator(_temperature_shape),
    ]
    suspended_solids: SolidsSeries | None = None
    turbidity: TurbiditySeries | None = None
    hardness: HardnessSeries | None = None
    iron: DissolvedSeries | None = None
    iron_dissolved: PartOfAll | None = None
    manganese: DissolvedSeries | None = None
    manganese_dissolved: PartOfAll | None = None
    sulphide: DissolvedSeries | None = None
    ammonia: DissolvedSeries | None = None
    free_chlorine: DissolvedSeries | None = None
    combined_chlorine: DissolvedSeries | None = None
    pH: AciditySeries | None = None
    water: Annotated[str, OneOf(*WATERS)] | None = None
    oxidant: Oxidant | None = None
    coagulant: CoagulantTable | None = None
    solids_per_turbidity: (
        Annotated[float, Quantity(units.SOLIDS_PER_TURBIDITY, "0.05 mg/L per NTU", "20 mg/L per NTU")] | None
    ) = None


class DemandVariation(Table):
    """By which factor the demand of a day lies about the usual, and for how long."""

    spread: Annotated[float, Number(1.0, 3.0, like=1.15)] | None = None
    memory: Memory | None = None


class FlowFile(FileTable):
    """A flow from a column of a CSV file."""

    unit: Annotated[str, OneOf(*units.FLOW.units)]


class DemandTable(Table):
    """What the train is asked to deliver: one flow, a flow for each hour of the day, or one from a CSV file."""

    flow: (
        Annotated[
            Annotated[float, FLOW, Tag("<value>")] | Annotated[FlowFile, Tag("<table>")],
            Discriminator(value_or_table),
        ]
        | None
    ) = None
    hourly: Annotated[list[Flow], HOURS] | None = None
    weekday: Weekdays | None = None
    season: YearlyFactor | None = None
    variation: DemandVariation | None = None
    closed: Annotated[list[Annotated[date, Day()]], Items(0, MOST_DAYS)] | None = None
