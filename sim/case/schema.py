"""The tables of a case file and their keys, as the user writes them.

One class per table. An absent optional key is None: it stands for a catalogue value, or for an effect that is
off. What several keys say together is judged in `checks`, not here.
"""

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from hydraulics.media import CATALOGUE
from sim.case import units
from sim.case.price.schema import PricesTable
from sim.case.series.schema import (
    INTERVAL,
    OXIDANT,
    SHARE,
    SOLIDS,
    TEMPERATURE,
    TURBIDITY,
    USES,
    DemandTable,
    FeedTable,
    RunTable,
)
from sim.case.table import Table, value_or_table
from sim.case.time_rules import TimeOfDay
from sim.case.train.schema import (
    DownstreamTable,
    HoldUnitTable,
    PumpTable,
    StartSpikeTable,
    SwitchTable,
    ValveSpikeTable,
    VesselsTable,
    WashingTable,
)
from sim.case.trigger.schema import TriggerTable
from sim.case.values import (
    Amount,
    Either,
    Flag,
    Items,
    LossAtFlow,
    Number,
    Off,
    OneOf,
    OrZero,
    Quantity,
    Text,
    Whole,
)
from sim.case.wash.schema import DrainTable, RestrictorTable, SupplyTable

MOST_STAGES, MOST_LAYERS, MOST_STEPS, MOST_POLICIES = 12, 10, 20, 50

# A stage or policy name is a step of a dotted key, and the right side of KEY=VALUE is not part of it.
NAME = Text(60, like="filter", without=".=")
WASH_FLOW = Quantity(units.FLOW, "1 L/h", "100000 m3/h")


class VesselTable(Table):
    """An upright round vessel: inner diameter and height."""

    diameter: Annotated[float, Quantity(units.LENGTH, "1 cm", "20 m")]
    height: Annotated[float, Quantity(units.LENGTH, "5 cm", "20 m")]
    pressure_rating: Annotated[float, Quantity(units.PRESSURE, "1 kPa", "100 bar")] | None = None


class HeadLossTable(Table):
    """The law of the clean bed, how deposit adds to it, and where the gauge sits."""

    law: Annotated[Literal["ergun", "carman-kozeny"], OneOf("ergun", "carman-kozeny")] | None = None
    growth: Annotated[Literal["pore-narrowing", "linear"], OneOf("pore-narrowing", "linear")] | None = None
    viscous: Annotated[float, Number(10.0, 1000.0, like=150.0)] | None = None
    inertial: Annotated[float, Number(0.0, 10.0, like=1.75)] | None = None
    valve: (
        Annotated[
            float,
            LossAtFlow(Quantity(units.PRESSURE, "0 kPa", "10 bar"), Quantity(units.FLOW, "1 L/h", "100000 m3/h")),
        ]
        | None
    ) = None
    valve_in_wash: Annotated[bool, Flag()] | None = None
    tap: Annotated[Literal["vessel", "bed"], OneOf("vessel", "bed")] = "vessel"


class SieveTable(Table):
    """A sieve analysis, fine to coarse: openings and the percent of the grains that passes each."""

    opening: Annotated[list[Annotated[float, Quantity(units.LENGTH, "1 um", "10 cm", like="0.8 mm")]], Items(2, 50)]
    passing: Annotated[list[Annotated[float, Number(0.0, 100.0, like=10.0)]], Items(2, 50)]


class CollectorTable(Table):
    """A filter coefficient worked out from what a single grain collects of one kind of particle."""

    particle_size: Annotated[float, Quantity(units.LENGTH, "0.01 um", "200 um", like="5 um")] | None = None
    particle_density: Annotated[float, Quantity(units.DENSITY, "1000 kg/m3", "8000 kg/m3")]
    attachment: Annotated[float, SHARE] | None = None
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
    firm_share: Annotated[float, SHARE] | None = None


class RipeningTable(Table):
    """How much lower the filter coefficient is after a wash, and over what volume per area it recovers."""

    share: Annotated[float, SHARE] | None = None
    volume: Annotated[float, Quantity(units.LOADING, "0.01 m", "1000 m")] | None = None


class SloughingTable(Table):
    """How the ultimate deposit falls with the filtration rate."""

    exponent: Annotated[float, Number(0.0, 2.0, like=0.25)] | None = None


class MatTable(Table):
    """The coarse share of the solids that stays on top of the bed, and how it resists flow."""

    share: Annotated[float, SHARE]
    resistance: Annotated[float, Quantity(units.MAT_RESISTANCE, "1e6 m/kg", "1e15 m/kg")] | None = None


class StepTable(Table):
    """One step of a wash."""

    do: Annotated[Literal["backwash", "settle", "rinse"], OneOf("backwash", "settle", "rinse")]
    minutes: Annotated[float, OrZero(Number(0.1, 1440.0, like=10.0), "which leaves the step out")]
    flow: Annotated[float, WASH_FLOW] | None = None
    water: Annotated[Literal["raw", "filtered", "clean"], OneOf("raw", "filtered", "clean")] | None = None
    water_solids: Annotated[float, SOLIDS] | None = None
    cleaning_rate: Annotated[float, Quantity(units.PER_TIME, "0 1/min", "100 1/min")] | None = None
    air: Annotated[bool, Flag()] | None = None


class KnownRunTable(Table):
    """One run of a filter that the plant remembers: from a clean bed, at one flow, its pressure drop rose so far."""

    flow: Annotated[float, WASH_FLOW]
    gain: Annotated[float, Quantity(units.PRESSURE, "1 Pa", "10 bar")]
    after: Annotated[float, INTERVAL]


def _none_or_table(raw: object) -> str:
    return "<none>" if isinstance(raw, str) else "<table>"


class StageTable(Table):
    """One filter of the train."""

    name: Annotated[str, NAME]
    limit: Annotated[Amount, Either(SOLIDS, TURBIDITY)] | None = None
    vessel: VesselTable
    head_loss: HeadLossTable = Field(default_factory=HeadLossTable)
    known_run: KnownRunTable | None = None
    coagulated: Annotated[bool, Flag()] | None = None
    oxidant: Annotated[Literal["chlorine", "permanganate", "none"], OXIDANT] | None = None
    ripening: Annotated[
        Annotated[None, Off(), Tag("<none>")] | Annotated[RipeningTable, Tag("<table>")],
        Discriminator(_none_or_table),
    ] = Field(default_factory=RipeningTable)
    sloughing: Annotated[
        Annotated[None, Off(), Tag("<none>")] | Annotated[SloughingTable, Tag("<table>")],
        Discriminator(_none_or_table),
    ] = None
    mat: Annotated[
        Annotated[None, Off(), Tag("<none>")] | Annotated[MatTable, Tag("<table>")],
        Discriminator(_none_or_table),
    ] = None
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
    loose_rate: Annotated[float, Quantity(units.PER_TIME, "0 1/min", "100 1/min")] | None = None
    firm_rate: Annotated[float, Quantity(units.PER_TIME, "0 1/min", "100 1/min")] | None = None
    air_factor: Annotated[float, Number(1.0, 50.0, like=4.0)] | None = None
    restrictor: RestrictorTable | None = None
    vessels: VesselsTable | None = None
    while_washing: Annotated[Literal["closed", "passes raw"], OneOf("closed", "passes raw")] = "closed"
    wash_path: Annotated[
        Literal["header", "through earlier stages"], OneOf("header", "through earlier stages")
    ] = "header"
    longest_run: Annotated[float, INTERVAL] | None = None
    longest_run_at: Annotated[float, TimeOfDay()] | None = None
    hold_unit: HoldUnitTable | None = None
    switch: SwitchTable | None = None
    start_spike: StartSpikeTable | None = None
    valve_spike: ValveSpikeTable | None = None
    layer: Annotated[list[LayerTable], Items(1, MOST_LAYERS)]
    step: Annotated[list[StepTable], Items(1, MOST_STEPS)]


class CaseFile(Table):
    """A case: one train of filters, what feeds it, what it must deliver and what starts its washes."""

    title: Annotated[str, Text(200, like="A filter on a steady feed")]
    use: Annotated[Literal["membrane", "process", "food", "drinking"], OneOf(*USES)] | None = None
    today: Annotated[str, NAME] | None = None
    run: RunTable
    feed: FeedTable
    demand: DemandTable
    supply: SupplyTable | None = None
    drain: DrainTable | None = None
    downstream: DownstreamTable | None = None
    pump: PumpTable | None = None
    washing: WashingTable | None = None
    prices: PricesTable | None = None
    stage: Annotated[list[StageTable], Items(1, MOST_STAGES)]
    policy: Annotated[dict[Annotated[str, NAME], dict[str, TriggerTable]], Items(1, MOST_POLICIES)]


class _Generator(GenerateJsonSchema):
    """TOML has no null: an optional key is absent, never empty."""

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        inner = self.generate_inner(schema["schema"])
        return {**inner, "default": schema["default"]} if schema.get("default") is not None else inner


def json_schema() -> dict[str, Any]:
    """The JSON Schema of a case file, for editors that complete and check TOML while it is written."""
    schema = CaseFile.model_json_schema(schema_generator=_Generator)
    return {"$schema": GenerateJsonSchema.schema_dialect, **schema, "title": "Case file of filterrun"}
