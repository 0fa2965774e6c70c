"""The tables of a case file that tell of one filter, as the user writes them.

One class per table. An absent optional key is None: it stands for a catalogue value, or for an effect that is
off. What several keys say together is judged in `checks`, not here.
"""

from typing import Annotated, TypeVar

from pydantic import Discriminator, Field, Tag

from hydraulics.media import CATALOGUE
from sim.case import units
from sim.case.chemistry.records import Direction, SulphideTo
from sim.case.chemistry.schema import DosingTable, LimitsTable, Mass, SaltTable, StoreTable
from sim.case.limits import (
    DISSOLVED,
    DRAINED,
    HARDNESS,
    SOLIDS,
    SOME_FLOW,
    TEMPERATURE,
    TOTAL,
    TURBIDITY,
    Flow,
    Interval,
    Loss,
    Name,
    PartOfAll,
    SomeLoss,
    SquareLaw,
)
from sim.case.series.records import Oxidant
from sim.case.stage.records import Do, Growth, Law, Tap, WashPath, WashWater, WhileWashing
from sim.case.table import Table, value_or_table
from sim.case.time_rules import HourOfDay, Moment
from sim.case.train.schema import (
    STAGE_NAME,
    HoldUnitTable,
    Level,
    StartSpikeTable,
    SwitchTable,
    ValveSpikeTable,
    VesselsTable,
)
from sim.case.values import Amount, Either, Items, Number, Off, OneOf, Quantity, Whole, YesNo
from sim.case.wash.schema import RestrictorTable

MOST_LAYERS, MOST_STEPS, MOST_READINGS = 10, 20, 1000

CAPACITY = Either(
    Quantity(units.OXIDANT_CAPACITY, "0.01 eq/m3", "10000 eq/m3"),
    Quantity(units.MEDIA_DOSE, "0.001 kg/m3", "100000 kg/m3", like="2700 kg/m3"),
)
"""Of oxidising media in equivalents, of carbon in chlorine; that of resin follows its salt."""

HalfLength = Annotated[float, Quantity(units.LENGTH, "0.1 mm", "10 m", like="5 cm")]
CleaningRate = Annotated[float, Quantity(units.PER_TIME, "0 1/min", "100 1/min")]
Effect = TypeVar("Effect", bound=Table)


class VesselTable(Table):
    """An upright round vessel: inner diameter and height."""

    diameter: Annotated[float, Quantity(units.LENGTH, "1 cm", "20 m")]
    height: Annotated[float, Quantity(units.LENGTH, "5 cm", "20 m")]
    pressure_rating: Annotated[float, Quantity(units.PRESSURE, "1 kPa", "100 bar")] | None = None


class HeadLossTable(Table):
    """The law of the clean bed, how deposit adds to it, and where the gauge sits."""

    law: Law | None = None
    growth: Growth | None = None
    viscous: Annotated[float, Number(10.0, 1000.0, like=150.0)] | None = None
    inertial: Annotated[float, Number(0.0, 10.0, like=1.75)] | None = None
    valve: SquareLaw | None = None
    valve_in_wash: YesNo | None = None
    tap: Tap = "vessel"


class SieveTable(Table):
    """A sieve analysis, fine to coarse: openings and the percent of the grains that passes each."""

    opening: Annotated[list[Annotated[float, Quantity(units.LENGTH, "1 um", "10 cm", like="0.8 mm")]], Items(2, 50)]
    passing: Annotated[list[Annotated[float, Number(0.0, 100.0, like=10.0)]], Items(2, 50)]


class CollectorTable(Table):
    """A filter coefficient worked out from what a single grain collects of one kind of particle."""

    particle_size: Annotated[float, Quantity(units.LENGTH, "0.01 um", "200 um", like="5 um")] | None = None
    particle_density: Annotated[float, Quantity(units.DENSITY, "1000 kg/m3", "8000 kg/m3")]
    attachment: PartOfAll | None = None
    hamaker: Annotated[float, Quantity(units.ENERGY, "1e-22 J", "1e-18 J")] | None = None


class LayerTable(Table):
    """One medium of the bed; the first layer is the top one."""

    medium: Annotated[str, OneOf(*CATALOGUE)]
    depth: Annotated[float, Quantity(units.LENGTH, "1 cm", "10 m")]
    size: Annotated[float, Quantity(units.LENGTH, "0.05 mm", "50 mm", like="0.8 mm")] | None = None
    uniformity: Annotated[float, Number(1.0, 5.0, like=1.5)] | None = None
    sieve: SieveTable | None = None
    sphericity: Annotated[float, Number(0.3, 1.0, like=0.8)] | None = None
    porosity: Annotated[float, Number(0.2, 0.8, like=0.42)] | None = None
    grain_density: Annotated[float, Quantity(units.DENSITY, "1010 kg/m3", "8000 kg/m3")] | None = None
    filter_coefficient: (
        Annotated[
            Annotated[float, Quantity(units.PER_LENGTH, "0 1/m", "1000 1/m"), Tag("<value>")]
            | Annotated[CollectorTable, Tag("<table>")],
            Discriminator(value_or_table),
        ]
        | None
    ) = None
    typical_coefficient: Annotated[float, Quantity(units.PER_LENGTH, "0 1/m", "1000 1/m")] | None = None
    ultimate_deposit: Annotated[float, Quantity(units.DEPOSIT, "0.01 kg/m3", "1000 kg/m3")] | None = None
    deposit_density: Annotated[float, Quantity(units.DEPOSIT, "1 kg/m3", "3000 kg/m3")] | None = None
    head_loss_gain: (
        Annotated[float, Quantity(units.HEAD_LOSS_GAIN, "0 Pa/m per g/m3", "1000 Pa/m per g/m3")] | None
    ) = None
    firm_share: PartOfAll | None = None
    capacity: (
        Annotated[
            Annotated[Amount, CAPACITY, Tag("<value>")] | Annotated[SaltTable, Tag("<table>")],
            Discriminator(value_or_table),
        ]
        | None
    ) = None
    capacity_factor: Annotated[float, Number(0.1, 3.0, like=1.0)] | None = None
    half_length: HalfLength | None = None
    combined_half_length: HalfLength | None = None
    half_length_rate: Annotated[float, Quantity(units.RATE, "0.1 m/h", "200 m/h", like="20 m/h")] | None = None
    growth: Annotated[float, Number(0.0, 100.0, like=0.3)] | None = None
    leakage: Annotated[float, Number(0.0, 0.5, like=0.03)] | None = None
    fouling: PartOfAll | None = None
    sulphide_to: SulphideTo | None = None


class RipeningTable(Table):
    """How much lower the filter coefficient is after a wash, and over what volume per area it recovers."""

    share: PartOfAll | None = None
    volume: Annotated[float, Quantity(units.LOADING, "0.01 m", "1000 m")] | None = None


class SloughingTable(Table):
    """How the ultimate deposit falls with the filtration rate."""

    exponent: Annotated[float, Number(0.0, 2.0, like=0.25)] | None = None


class MatTable(Table):
    """The coarse share of the solids that stays on top of the bed, and how it resists flow."""

    share: PartOfAll
    resistance: Annotated[float, Quantity(units.MAT_RESISTANCE, "1e6 m/kg", "1e15 m/kg")] | None = None


class StepTable(Table):
    """One step of a wash."""

    do: Do
    minutes: Annotated[float, Number(0.1, 1440.0, like=10.0, zero="which leaves the step out")]
    flow: Annotated[float, SOME_FLOW] | None = None
    water: WashWater | None = None
    water_solids: Annotated[float, SOLIDS] | None = None
    cleaning_rate: CleaningRate | None = None
    air: YesNo | None = None
    salt: Mass | None = None
    permanganate: Mass | None = None
    direction: Direction | None = None


class KnownRunTable(Table):
    """One run of a filter that the plant remembers: from a clean bed, at one flow, its pressure drop rose so far."""

    flow: Annotated[float, SOME_FLOW]
    gain: SomeLoss
    after: Interval


class ReadingTable(Table):
    """One reading of the plant's own log, of one vessel; a wash marked in it begins after it."""

    time: Moment
    flow: Flow | None = None
    total: Annotated[float, TOTAL] | None = None
    pressure_drop: Loss | None = None
    turbidity_in: Annotated[float, TURBIDITY] | None = None
    turbidity_out: Annotated[float, TURBIDITY] | None = None
    hardness_in: Annotated[float, HARDNESS] | None = None
    hardness_out: Annotated[float, HARDNESS] | None = None
    chlorine_in: Annotated[float, DISSOLVED] | None = None
    chlorine_out: Annotated[float, DISSOLVED] | None = None
    temperature: Annotated[float, TEMPERATURE] | None = None
    wash: YesNo = False
    drained: Annotated[float, DRAINED] | None = None


class ClockTable(Table):
    """The clock of the stage's controller."""

    drift: Annotated[float, Quantity(units.DRIFT, "-3600 s/d", "3600 s/d")] | None = None
    daylight_saving: YesNo = False
    keeps_time: YesNo = True


class OnlyWhileTable(Table):
    """What must hold for a wash of the stage to start."""

    unit_idle: YesNo = False
    tank_above: Level | None = None


def _none_or_table(raw: object) -> str:
    return "<none>" if isinstance(raw, str) else "<table>"


NoneOr = Annotated[
    Annotated[None, Off(), Tag("<none>")] | Annotated[Effect, Tag("<table>")],
    Discriminator(_none_or_table),
]


class StageTable(Table):
    """One filter of the train."""

    name: Name
    limit: Annotated[Amount, Either(SOLIDS, TURBIDITY)] | None = None
    vessel: VesselTable
    head_loss: HeadLossTable = Field(default_factory=HeadLossTable)
    known_run: KnownRunTable | None = None
    reading: Annotated[list[ReadingTable], Items(2, MOST_READINGS)] | None = None
    coagulated: YesNo | None = None
    limits: LimitsTable | None = None
    oxidant: (
        Annotated[
            Annotated[Oxidant, Tag("<value>")] | Annotated[DosingTable, Tag("<table>")],
            Discriminator(value_or_table),
        ]
        | None
    ) = None
    blend: Annotated[float, Number(0.0, 0.9, like=0.3)] | None = None
    store: StoreTable | None = None
    ripening: NoneOr[RipeningTable] = Field(default_factory=RipeningTable)
    sloughing: NoneOr[SloughingTable] = None
    mat: NoneOr[MatTable] = None
    unfilterable: Annotated[float, Number(0.0, 0.95, like=0.1)] | None = None
    velocity_exponent: Annotated[float, Number(0.0, 2.0, like=0.5)] | None = None
    viscosity_exponent: Annotated[float, Number(0.0, 2.0, like=0.5)] | None = None
    size_exponent: Annotated[float, Number(0.0, 4.0, like=1.5)] | None = None
    gain_size_exponent: Annotated[float, Number(0.0, 4.0, like=1.0)] | None = None
    reference_rate: Annotated[float, Quantity(units.RATE, "0.1 m/h", "200 m/h")] | None = None
    reference_temperature: Annotated[float, TEMPERATURE] | None = None
    tanks: Annotated[int, Whole(1, 100)] | None = None
    underdrain_volume: Annotated[float, Quantity(units.VOLUME, "0 L", "1000 m3")] | None = None
    cells: Annotated[int, Whole(2, 200)] = 20
    porosity_floor: Annotated[float, Number(0.01, 0.3, like=0.05)] | None = None
    loose_rate: CleaningRate | None = None
    firm_rate: CleaningRate | None = None
    air_factor: Annotated[float, Number(1.0, 50.0, like=4.0)] | None = None
    restrictor: RestrictorTable | None = None
    vessels: VesselsTable | None = None
    while_washing: WhileWashing = "closed"
    wash_path: WashPath = "header"
    longest_run: Interval | None = None
    longest_run_at: HourOfDay | None = None
    clock: ClockTable | None = None
    least_interval: Annotated[float, Quantity(units.DURATION, "1 min", "366 d")] | None = None
    only_while: OnlyWhileTable | None = None
    not_while: Annotated[list[Annotated[str, STAGE_NAME]], Items(1, 11)] | None = None
    hold_unit: HoldUnitTable | None = None
    switch: SwitchTable | None = None
    start_spike: StartSpikeTable | None = None
    valve_spike: ValveSpikeTable | None = None
    layer: Annotated[list[LayerTable], Items(1, MOST_LAYERS)]
    step: Annotated[list[StepTable], Items(1, MOST_STEPS)]
