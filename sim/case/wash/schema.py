"""The tables of a case file that say what a wash draws from and where it goes, as the user writes them."""

from typing import Annotated

from pydantic import Discriminator, Tag

from sim.case import units
from sim.case.limits import PRESSURE, SOME_FLOW, Flow, Pressure
from sim.case.table import Table
from sim.case.values import FlagOrQuantity, Items, Number, Quantity, YesNo

LONGEST_CURVE = 20

PIPE_SIZE = Quantity(units.LENGTH, "2 mm", "5 m")


class PipeTable(Table):
    """A round pipe running full; `rise` is how much higher its end lies than its start."""

    diameter: Annotated[float, PIPE_SIZE]
    length: Annotated[float, Quantity(units.LENGTH, "0 m", "10000 m")]
    roughness: Annotated[float, Quantity(units.LENGTH, "0 mm", "10 mm", like="0.1 mm")] | None = None
    fittings: Annotated[float, Number(0.0, 1000.0, like=4.0)] | None = None
    rise: Annotated[float, Quantity(units.LENGTH, "-100 m", "100 m")] | None = None


def _one_or_list(raw: object) -> str:
    return "<list>" if isinstance(raw, list) else "<value>"


class SupplyTable(Table):
    """What drives a backwash: pressures at flows, or one pressure up to a limit; without it any flow is reached."""

    pressure: Annotated[
        Annotated[float, PRESSURE, Tag("<value>")]
        | Annotated[list[Pressure], Items(2, LONGEST_CURVE), Tag("<list>")],
        Discriminator(_one_or_list),
    ]
    flow: Annotated[list[Flow], Items(2, LONGEST_CURVE)] | None = None
    limit: Annotated[float, SOME_FLOW] | None = None
    pipe: PipeTable | None = None
    shared_with_service: YesNo = False
    outlives_power_cut: YesNo = False
    others: Flow | None = None


class SumpTable(Table):
    """What a pit or tank behind the drain may be given, by the hour and by the day."""

    flow_limit: Annotated[float, SOME_FLOW] | None = None
    daily_limit: Annotated[float, Quantity(units.VOLUME, "1 L", "1000000 m3")] | None = None


class DrainTable(Table):
    """Where a wash goes: its pipe, whether it ends in an air gap, and what can be taken."""

    pipe: PipeTable | None = None
    air_gap: Annotated[bool | float, FlagOrQuantity(Quantity(units.LENGTH, "1 mm", "10 m"))] | None = None
    sump: SumpTable | None = None
    capacity: Annotated[float, SOME_FLOW] | None = None


class RestrictorTable(Table):
    """A round hole in the drain of one stage, which holds its wash to a flow."""

    hole: Annotated[float, Quantity(units.LENGTH, "1 mm", "2 m")]
    pipe: Annotated[float, PIPE_SIZE]
    discharge: Annotated[float, Number(0.3, 1.0, like=0.61)] | None = None
