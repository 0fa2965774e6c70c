"""A whole case file as the user writes it; the tables in it stand in the schema of their subject.

One class per table. An absent optional key is None: it stands for a catalogue value, or for an effect that is
off. What several keys say together is judged in `checks`, not here.
"""

from typing import Annotated, Any

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from sim.case.fault.schema import MOST_FAULTS, FaultTable
from sim.case.limits import Name
from sim.case.price.schema import PricesTable
from sim.case.records import Use
from sim.case.series.schema import DemandTable, FeedTable, RunTable
from sim.case.stage.schema import StageTable
from sim.case.table import Table
from sim.case.train.schema import DownstreamTable, PumpTable, WashingTable
from sim.case.trigger.schema import TriggerTable
from sim.case.values import AsItsKey, Items, Text
from sim.case.wash.schema import DrainTable, SupplyTable

MOST_STAGES, MOST_POLICIES, MOST_RANGES = 12, 50, 200
RangeEnd = Annotated[float | str, AsItsKey()]


class RangeTable(Table):
    """The range within which a constant lies that the case gives."""

    of: Annotated[str, Text(200, like="stage.filter.layer.0.filter_coefficient")]
    low: RangeEnd
    high: RangeEnd


class CaseFile(Table):
    """A case: one train of filters, what feeds it, what it must deliver and what starts its washes."""

    title: Annotated[str, Text(200, like="A filter on a steady feed")]
    use: Use | None = None
    today: Name | None = None
    run: RunTable
    feed: FeedTable
    demand: DemandTable
    supply: SupplyTable | None = None
    drain: DrainTable | None = None
    downstream: DownstreamTable | None = None
    pump: PumpTable | None = None
    washing: WashingTable | None = None
    prices: PricesTable | None = None
    fault: Annotated[list[FaultTable], Items(1, MOST_FAULTS)] | None = None
    range: Annotated[list[RangeTable], Items(1, MOST_RANGES)] | None = None
    stage: Annotated[list[StageTable], Items(1, MOST_STAGES)]
    policy: Annotated[dict[Name, dict[str, TriggerTable]], Items(1, MOST_POLICIES)]


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
