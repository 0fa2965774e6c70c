"""What passes quickly on a gauge: the unit starting, a valve moving elsewhere."""

import math

from hydraulics.compiled import law
from sim.plant.layout import Tables


@law
def set_spikes(t: float, line: Tables) -> None:
    """Take up every valve movement up to t [s], and add up what stands on each stage's gauge from then on [Pa]."""
    c = line.control[0]
    while c.jolt < line.jolt.shape[0] and line.jolt[c.jolt].time <= t:
        p = line.stage[line.jolt[c.jolt].stage]
        p.jolt_until = line.jolt[c.jolt].time + p.jolt_length
        c.jolt += 1
    for k in range(line.stage.shape[0]):
        p = line.stage[k]
        p.spike = 0.0
        if t < p.spike_until:
            p.spike += p.start_height
        if t < p.jolt_until:
            p.spike += p.jolt_height


@law
def spike_end(t: float, end: float, line: Tables) -> float:
    """The first of `end` and of when a spike begins or ends on a gauge on which a wash waits [s]."""
    c = line.control[0]
    if c.jolt < line.jolt.shape[0] and waited_for(line.jolt[c.jolt].stage, line):
        end = min(end, line.jolt[c.jolt].time)
    for k in range(line.stage.shape[0]):
        p = line.stage[k]
        if not waited_for(k, line):
            continue
        if t < p.spike_until:
            end = min(end, p.spike_until)
        if t < p.jolt_until:
            end = min(end, p.jolt_until)
    return end


@law
def waited_for(k: int, line: Tables) -> bool:
    """Whether a pressure of stage k would start a wash now."""
    found = False
    for i in range(line.stage[k].first_vessel, line.stage[k].end_vessel):
        found = found or line.vessel[i].pressure_set < math.inf
    return found
