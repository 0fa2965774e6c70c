"""The pump of the service: whether it drives what is asked for, and which set points its beds can ever show."""

from hydraulics.headloss import square_law_loss
from hydraulics.pipes import available_pressure, supply_curve
from sim.case.stage.records import Stage
from sim.case.train.records import Pump
from sim.case.trigger.records import Pressure
from sim.review.findings import Findings, at_least, at_most, judged
from sim.review.site import Site


def pump_findings(site: Site) -> Findings:
    """Whether clean beds get the largest flow that is asked for."""
    pump = site.case.pump
    if pump is None:
        return
    needed = at_least(site.clean_train_loss, "clean_beds")
    yield judged("pump_leaves", None, left_by(pump, site.peak), "pressure", needed)


def missed_by_the_pump(site: Site, stage: Stage, policy: str, trigger: Pressure) -> Findings:
    """As a bed loads the flow falls; at no flow a bed shows the pump's pressure less the delivery, and never more."""
    pump = site.case.pump
    if pump is None:
        return
    highest = pump.pressures[0] - pump.delivery
    if trigger.above > highest:
        yield judged("set_point_never_met", stage, trigger.above, "pressure", at_most(highest, "pump"), way=policy)
        return
    left = at_most(left_by(pump, site.peak), "pump")
    yield judged("set_point_against_pump", stage, trigger.above, "pressure", left, way=policy)


def left_by(pump: Pump, flow: float) -> float:
    """Pressure [Pa] for the filters at a flow [m3/s]: none beyond the curve."""
    if flow > pump.flows[-1]:
        return 0.0
    given = available_pressure(flow, supply_curve(pump.flows, pump.pressures))
    return max(given - pump.delivery - square_law_loss(pump.other_loss, flow), 0.0)
