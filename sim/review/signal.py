"""The pressure switch: what passes quickly on the gauge, and whether it starts a wash by itself."""

from sim.case.stage.records import Stage
from sim.case.train.records import StartSpike, ValveSpike
from sim.case.trigger.records import Pressure
from sim.review.findings import Band, Findings, judged
from sim.review.site import Site


def spike_findings(site: Site, stage: Stage, policy: str, trigger: Pressure) -> Findings:
    """A spike on the clean bed's pressure drop against the set point, where the hold does not outlast it."""
    for name, spike in (
        ("a start of the unit downstream", stage.start_spike),
        ("a valve that moves elsewhere", stage.valve_spike),
    ):
        if spike is None or trigger.hold > _lasts(stage, spike):
            continue
        yield judged(
            stage,
            f'pressure drop of the clean bed with {name} against the set point of "{policy}"',
            site.clean(stage) + _read(stage, spike),
            "pressure",
            Band(high=trigger.above, source="switch and spikes of the case; a hold that outlasts none of them"),
            above="a hold that outlasts the spike, or a switch that reads means over longer: each one starts a wash",
        )


def _lasts(stage: Stage, spike: StartSpike | ValveSpike) -> float:
    """How long a spike can keep the switch on [s]: it reads at the end of each sample."""
    return spike.length + (0.0 if stage.switch is None else stage.switch.sample)


def _read(stage: Stage, spike: StartSpike | ValveSpike) -> float:
    """The most that the switch sees of a spike [Pa]: the mean over a sample that holds all of it."""
    if stage.switch is None:
        return spike.height
    return spike.height * min(spike.length / stage.switch.sample, 1.0)
