"""The table [[fault]] of a case file."""

from typing import Annotated

from sim.case import units
from sim.case.fault.records import Valve, What
from sim.case.limits import Name
from sim.case.table import Table
from sim.case.time_rules import Moment
from sim.case.values import Amount, Either, Number, OneOf, Quantity

MOST_FAULTS = 200


class FaultTable(Table):
    """Something that fails for a while, or for good."""

    what: Annotated[str, OneOf(*(each.value for each in What))]
    stage: Name | None = None
    __annotations__["from"] = Moment  # a word of the language, so no name
    until: Moment | None = None
    share: Annotated[float, Number(0.0, 10.0, like=0.9)] | None = None
    by: (
        Annotated[
            Amount,
            Either(
                Quantity(units.PRESSURE, "-10 bar", "10 bar", like="4 kPa"),
                Quantity(units.DURATION, "-7 d", "7 d", like="40 min"),
            ),
        ]
        | None
    ) = None
    valve: Valve | None = None
