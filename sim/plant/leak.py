"""A drain valve that passes: of what flows into the vessels in service of a stage a share leaks ahead of the bed."""

from hydraulics.compiled import law
from sim.plant.layout import SERVICE, SOLUTE_COUNT, Rows, Tables


@law
def taken_in(p: Rows, sent_on: float) -> float:
    """What stage p takes in of raw water, or from the stage before, to send on a flow [m3/s], by what it leaks."""
    flow: float = sent_on
    if p.serving > 0 and p.passing > 0.0:
        flow += sent_on * (1.0 - p.past) * p.passing / (1.0 - p.passing)
    return flow


@law
def leaking(i: int, line: Tables) -> float:
    """What leaks to drain ahead of the bed of vessel i [m3/s]."""
    s, p = line.vessel[i], line.stage[line.vessel[i].stage]
    flow: float = s.flow * p.passing / (1.0 - p.passing) if s.mode == SERVICE else 0.0
    return flow


@law
def commit_leak(i: int, leak: float, line: Tables) -> None:
    """Count what has leaked to drain ahead of the bed of vessel i [m3]."""
    s, w = line.vessel[i], line.water[line.vessel[i].stage]
    s.leaked_total += leak
    s.in_total += leak * (w.filterable + w.fine)
    s.spilt_total += leak * (w.filterable + w.fine)
    for n in range(SOLUTE_COUNT if line.control[0].dissolves == 1 else 0):
        q = line.portion[i * SOLUTE_COUNT + n]
        q.in_total += leak * line.dissolved[s.stage * SOLUTE_COUNT + n].conc
        q.drain_total += leak * line.dissolved[s.stage * SOLUTE_COUNT + n].conc
