"""Values that several tables of a case ask for, each with the range that it may lie in."""

from typing import Annotated

from sim.case import units
from sim.case.units import Kind, Unit
from sim.case.values import LossAtFlow, Number, Quantity, Text

SOLIDS = Quantity(units.CONCENTRATION, "0 mg/L", "10000 mg/L")
TURBIDITY = Quantity(units.TURBIDITY, "0 NTU", "10000 NTU")
HARDNESS = Quantity(units.HARDNESS, "0 mg/L", "10000 mg/L")
DISSOLVED = Quantity(units.CONCENTRATION, "0 mg/L", "1000 mg/L", like="2 mg/L")
ACIDITY = Number(0.0, 14.0, like=7.2)
ACIDITY_IN_FILE = Quantity(Kind("acidity", "pH", {"pH": Unit(1.0)}, "7.2 pH"), "0 pH", "14 pH")
TEMPERATURE = Quantity(units.TEMPERATURE, "0 degC", "50 degC")
FLOW = Quantity(units.FLOW, "0 m3/h", "100000 m3/h")
SOME_FLOW = Quantity(units.FLOW, "1 L/h", "100000 m3/h")
PRESSURE = Quantity(units.PRESSURE, "0 kPa", "100 bar")
LOSS = Quantity(units.PRESSURE, "0 kPa", "10 bar")
TOTAL = Quantity(units.VOLUME, "0 m3", "1e10 m3", like="1840 m3")
DRAINED = Quantity(units.VOLUME, "0 m3", "10000 m3", like="3.6 m3")
INTERVAL = Quantity(units.DURATION, "1 h", "3653 d")

# A stage or policy name is a step of a dotted key, and the right side of KEY=VALUE is not part of it.
Name = Annotated[str, Text(60, like="filter", without=".=")]

Interval = Annotated[float, INTERVAL]
Pressure = Annotated[float, PRESSURE]
Flow = Annotated[float, FLOW]
Loss = Annotated[float, LOSS]
SomeLoss = Annotated[float, Quantity(units.PRESSURE, "1 Pa", "10 bar")]
SquareLaw = Annotated[float, LossAtFlow(LOSS, SOME_FLOW)]
PartOfAll = Annotated[float, Number(0.0, 1.0, like=0.1)]
