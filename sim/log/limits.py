"""What the columns of a log may hold: the range and the units of each."""

from collections.abc import Mapping

from sim.case.limits import DISSOLVED, DRAINED, FLOW, HARDNESS, LOSS, TEMPERATURE, TOTAL, TURBIDITY
from sim.case.values import Quantity
from sim.log.records import What

LIMITS: Mapping[What, Quantity] = {
    What.FLOW: FLOW,
    What.TOTAL: TOTAL,
    What.PRESSURE_DROP: LOSS,
    What.TURBIDITY_IN: TURBIDITY,
    What.TURBIDITY_OUT: TURBIDITY,
    What.HARDNESS_IN: HARDNESS,
    What.HARDNESS_OUT: HARDNESS,
    What.CHLORINE_IN: DISSOLVED,
    What.CHLORINE_OUT: DISSOLVED,
    What.TEMPERATURE: TEMPERATURE,
    What.DRAIN: DRAINED,
}
MARK = str(What.WASH)
"""The column that has no numbers."""
