"""The pressure switch: what passes quickly on the gauge, and whether it starts a wash by itself."""

from sim.case.stage.records import Stage
from sim.case.train.records import StartSpike, ValveSpike
from sim.case.trigger.records import Pressure
from sim.review.findings import Findings, Spike, at_most, judged
from sim.review.site import Site


def spike_findings(site: Site, stage: Stage, policy: str, trigger: Pressure) -> Findings:
    """A spike on the clean bed's pressure drop against the set point, where the hold does not outlast it."""
    spikes: tuple[tuple[Spike, StartSpike | ValveSpike | None], ...]
    spikes = (("unit start", stage.start_spike), ("valve", stage.valve_spike))
    for name, spike in spikes:
        if spike is None or trigger.hold > _lasts(stage, spike):
            continue
        shown, point = site.clean(stage) + _read(stage, spike), at_most(trigger.above, "spikes")
        yield judged("spike", stage, shown, "pressure", point, spike=name, way=policy)


def _lasts(stage: Stage, spike: StartSpike | ValveSpike) -> float:
    """How long a spike can keep the switch on [s]: it reads at the end of each sample."""
    return spike.length + (0.0 if stage.switch is None else stage.switch.sample)


def _read(stage: Stage, spike: StartSpike | ValveSpike) -> float:
    """The most that the switch sees of a spike [Pa]: the mean over a sample that holds all of it."""
    if stage.switch is None:
        return spike.height
    return spike.height * min(spike.length / stage.switch.sample, 1.0)
