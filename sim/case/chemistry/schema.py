"""The tables of a case file about what is dissolved, as the user writes them: limits, doses, stores, resin."""

from typing import Annotated

from sim.case import units
from sim.case.chemistry.records import Product, SulphideTo
from sim.case.limits import DISSOLVED, HARDNESS, INTERVAL, PartOfAll
from sim.case.table import Table
from sim.case.values import Items, Quantity

MOST_DOSES = 20

Dissolved = Annotated[float, DISSOLVED]
Mass = Annotated[float, Quantity(units.MASS, "0 g", "100000 kg", like="12 kg")]


class LimitsTable(Table):
    """What is dissolved in the water that a stage sends on: the most that it may be."""

    hardness: Annotated[float, HARDNESS] | None = None
    iron: Dissolved | None = None
    manganese: Dissolved | None = None
    chlorine: Dissolved | None = None


class DosingTable(Table):
    """An oxidant that is dosed to all water that comes to a stage."""

    product: Product
    dose: Annotated[float, Quantity(units.CONCENTRATION, "0 mg/L", "1000 mg/L", like="2 mg/L")] | None = None
    contact: Annotated[float, Quantity(units.DURATION, "0 s", "7 d", like="10 min")] | None = None
    unfilterable: PartOfAll | None = None
    sulphide_to: SulphideTo | None = None


class StoreTable(Table):
    """The salt and the permanganate at hand, how often they are made up again, and how salt dissolves."""

    salt: Mass | None = None
    permanganate: Mass | None = None
    refilled: Annotated[float, INTERVAL] | None = None
    solubility: Annotated[float, Quantity(units.CONCENTRATION, "50 g/L", "500 g/L", like="358 g/L")] | None = None
    dissolving: Annotated[float, Quantity(units.DURATION, "0 s", "7 d", like="1 h")] | None = None


class SaltTable(Table):
    """What doses of salt restore of a spent resin."""

    doses: Annotated[
        list[Annotated[float, Quantity(units.MEDIA_DOSE, "1 kg/m3", "2000 kg/m3")]], Items(1, MOST_DOSES)
    ]
    gives: Annotated[
        list[Annotated[float, Quantity(units.HARDNESS_CAPACITY, "0.1 kg/m3", "500 kg/m3")]], Items(1, MOST_DOSES)
    ]
