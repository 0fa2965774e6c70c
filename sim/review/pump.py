"""The pump of the service: whether it drives what is asked for, and which set points its beds can ever show."""

from hydraulics.headloss import square_law_loss
from hydraulics.pipes import available_pressure, supply_curve
from sim.case.stage.records import Stage
from sim.case.train.records import Pump
from sim.case.trigger.records import Pressure
from sim.review.findings import Band, Findings, judged
from sim.review.site import Site

SOURCE = "the pump of the case"


def pump_findings(site: Site) -> Findings:
    """Whether clean beds get the largest flow that is asked for."""
    pump = site.case.pump
    if pump is None:
        return
    yield judged(
        None,
        "pressure that the pump leaves for the filters at the largest service flow",
        left_by(pump, site.peak),
        "pressure",
        Band(low=site.clean_train_loss, source="what the clean beds of the case lose at that flow"),
        below="more pump, or less flow at a time: even clean beds do not get what is asked for",
    )


def missed_by_the_pump(site: Site, stage: Stage, policy: str, trigger: Pressure) -> Findings:
    """As a bed loads the flow falls; at no flow a bed shows the pump's pressure less the delivery, and never more."""
    pump = site.case.pump
    if pump is None:
        return
    highest = pump.pressures[0] - pump.delivery
    if trigger.above > highest:
        yield judged(
            stage,
            f'set point of "{policy}" against the most that the pump leaves, at hardly any flow',
            trigger.above,
            "pressure",
            Band(high=highest, source=SOURCE),
            above="a lower set point and a longest run: this one is missed, however full the bed",
        )
        return
    yield judged(
        stage,
        f'set point of "{policy}" against what the pump leaves at the largest service flow',
        trigger.above,
        "pressure",
        Band(high=left_by(pump, site.peak), source=SOURCE),
        above="a lower set point: service gets less than it asks for before this one starts a wash",
    )


def left_by(pump: Pump, flow: float) -> float:
    """Pressure [Pa] for the filters at a flow [m3/s]: none beyond the curve."""
    if flow > pump.flows[-1]:
        return 0.0
    given = available_pressure(flow, supply_curve(pump.flows, pump.pressures))
    return max(given - pump.delivery - square_law_loss(pump.other_loss, flow), 0.0)
