"""The flow that a backwash really reaches: what its supply gives against what its way to the drain takes."""

from functools import lru_cache

from hydraulics import pipes, water
from hydraulics.headloss import square_law_loss
from sim.case.records import Case
from sim.case.stage.records import Stage, Step
from sim.case.wash.records import Pipe, Supply
from sim.wash.clean_bed import upflow_loss

SHARED_STEPS, SHARED_RELATIVE = 200, 1e-8


def wash_flow(case: Case, stage: Stage, step: Step, temperature: float, others: float = 0.0) -> float:
    """Flow of a step of a wash [m3/s], at most what it asks for.

    temperature: of the wash water [degC]; others: what else is drawn through the pipe of the supply meanwhile [m3/s],
    such as the service flow of a shared line or another wash, beside what the case says of other users.

    Only a backwash from a header is driven by the supply; a rinse, and a wash through the stages before, come the way
    of the service and reach what they ask for. So does every wash of a case without a supply. A sump, or a drain that
    takes less, holds no flow back: it overflows. 0 where the others leave nothing or the pressure moves nothing.
    """
    if case.supply is None or not is_supplied(stage, step):
        return step.flow
    drain_pipe = None if case.drain is None else case.drain.pipe
    drawn = others + case.supply.others
    return _reached(case.supply, drain_pipe, stage, step.flow, temperature, drawn)


def is_supplied(stage: Stage, step: Step) -> bool:
    """Whether the wash supply drives a step."""
    return step.do == "backwash" and stage.wash_path == "header"


def wash_flows(
    case: Case, washes: tuple[tuple[Stage, Step], ...], temperature: float, others: float = 0.0
) -> tuple[float, ...]:
    """Flows of several backwashes that draw on one supply at the same time [m3/s], as `wash_flow` each.

    Each is what the others leave it, found for all at once in steps from none, to SHARED_RELATIVE: equal washes get
    equal flows.
    """
    if case.supply is None or len(washes) < 2:
        return tuple(wash_flow(case, stage, step, temperature, others) for stage, step in washes)
    drain_pipe = None if case.drain is None else case.drain.pipe
    return _shared(case.supply, drain_pipe, washes, temperature, others + case.supply.others)


def wash_loss(stage: Stage, drain_pipe: Pipe | None, flow: float, temperature: float) -> float:
    """Pressure [Pa] that a wash loses from the branch of the supply to the free end of the drain."""
    rho = water.density(temperature)
    loss = upflow_loss(stage, flow, temperature)
    if stage.head_loss.valve_in_wash:
        loss += square_law_loss(stage.head_loss.valve_constant, flow)
    if stage.restrictor is not None:
        narrow = stage.restrictor
        loss += pipes.orifice_loss(flow, rho, hole=narrow.hole, pipe=narrow.pipe, discharge=narrow.discharge)
    return loss + pipe_loss(drain_pipe, flow, temperature)


def pipe_loss(pipe: Pipe | None, flow: float, temperature: float) -> float:
    """Friction, fittings and rise of a pipe [Pa]; nothing where the case has none."""
    if pipe is None:
        return 0.0
    mu, rho = water.viscosity(temperature), water.density(temperature)
    friction = pipes.pipe_loss(
        flow, mu, rho, diameter=pipe.diameter, length=pipe.length, roughness=pipe.roughness, fittings=pipe.fittings
    )
    return friction + pipes.static_pressure(pipe.rise, rho)


def branch_pressure(supply: Supply, flow: float, temperature: float) -> float:
    """Pressure [Pa] where the wash branches off while the pipe of the supply carries a flow, in all.

    Raises DomainError for more than the supply's curve has.
    """
    curve = pipes.supply_curve(supply.flows, supply.pressures)
    return pipes.branch_pressure(flow, curve, lambda drawn: pipe_loss(supply.pipe, drawn, temperature))


@lru_cache(maxsize=4096)
def _reached(
    supply: Supply, drain_pipe: Pipe | None, stage: Stage, asked: float, temperature: float, others: float
) -> float:
    if others >= supply.flows[-1]:
        return 0.0
    return pipes.flow_reached(
        asked,
        pipes.supply_curve(supply.flows, supply.pressures),
        shared_loss=lambda flow: pipe_loss(supply.pipe, flow, temperature),
        wash_loss=lambda flow: wash_loss(stage, drain_pipe, flow, temperature),
        others=others,
    )


@lru_cache(maxsize=1024)
def _shared(
    supply: Supply, drain_pipe: Pipe | None, washes: tuple[tuple[Stage, Step], ...], temperature: float, others: float
) -> tuple[float, ...]:
    flows = [0.0] * len(washes)
    for _ in range(SHARED_STEPS):
        drawn = others + sum(flows)
        found = [
            _reached.__wrapped__(supply, drain_pipe, stage, step.flow, temperature, drawn - flow)
            for (stage, step), flow in zip(washes, flows, strict=True)
        ]
        steps = [(new - flow) / len(washes) for new, flow in zip(found, flows, strict=True)]
        flows = [flow + step for flow, step in zip(flows, steps, strict=True)]
        if max(abs(step) for step in steps) <= SHARED_RELATIVE * max(flows):
            break
    return tuple(flows)
