"""What passes quickly on a gauge: the unit starting, a valve moving elsewhere."""

from hydraulics.compiled import routine
from sim.plant.layout import Rows


@routine
def set_spikes(t: float, jolt: Rows, control: Rows, stage: Rows) -> None:
    """Take up every valve movement up to t [s], and add up what stands on each stage's gauge from then on [Pa]."""
    c = control[0]
    while c.jolt < jolt.shape[0] and jolt[c.jolt].time <= t:
        p = stage[jolt[c.jolt].stage]
        p.jolt_until = jolt[c.jolt].time + p.jolt_length
        c.jolt += 1
    for k in range(stage.shape[0]):
        p = stage[k]
        p.spike = 0.0
        if t < p.spike_until:
            p.spike += p.start_height
        if t < p.jolt_until:
            p.spike += p.jolt_height


@routine
def spike_end(t: float, end: float, jolt: Rows, control: Rows, stage: Rows) -> float:
    """The first of `end` and of when a spike begins or ends [s]."""
    c = control[0]
    if c.jolt < jolt.shape[0]:
        end = min(end, jolt[c.jolt].time)
    for k in range(stage.shape[0]):
        p = stage[k]
        if t < p.spike_until:
            end = min(end, p.spike_until)
        if t < p.jolt_until:
            end = min(end, p.jolt_until)
    return end
