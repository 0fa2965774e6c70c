"""What a diagnosis tries: every fault and change of one stage, each in a few sizes, put into its case."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from sim.case.fault.records import NUMBER_OF, Fault, What
from sim.case.record import record
from sim.case.records import Case
from sim.case.series.records import Demand, Measured, Seasonal, Steady
from sim.case.stage.records import Stage
from sim.case.trigger.records import devices
from sim.case.units import HOUR
from sim.fit.causes import Change
from sim.fit.forward import times, with_constant
from sim.fit.records import Constant
from sim.study.faults_possible import OWN, Kind, kind_of, possible_faults
from sim.study.single import triggers_of

SIZES: Mapping[Kind | Change, tuple[float, ...]] = {
    "meter low": (1.0, 0.9, 0.75, 0.5),
    "meter high": (1.0, 1.1, 1.3, 1.8),
    "switch chatters": (0.0, 0.1, 0.2, 0.4),
    "switch drifts low": (0.0, -0.005, -0.015, -0.03),
    "switch drifts high": (0.0, 0.005, 0.015, 0.03),
    "tap plugged": (1.0, 0.8, 0.55, 0.3),
    "clock slow": (0.0, -2.0 * HOUR, -5.0 * HOUR, -10.0 * HOUR),
    "clock fast": (0.0, 2.0 * HOUR, 5.0 * HOUR, 10.0 * HOUR),
    "wash supply weak": (1.0, 0.85, 0.7, 0.5),
    "drain restricted": (1.0, 0.85, 0.7, 0.5),
    "valve passing": (0.0, 0.03, 0.1, 0.25),
    "raw water past the bed": (0.0, 0.05, 0.15, 0.4),
    "media lost": (0.0, 0.1, 0.25, 0.5),
    "capacity lost": (0.0, 0.15, 0.35, 0.7),
    "bed mudballed": (0.0, 0.1, 0.25, 0.5),
    Change.MORE_SOLIDS: (1.0, 1.5, 2.5, 5.0),
    Change.COLDER: (0.0, 4.0, 8.0, 15.0),
    Change.FASTER_GROWTH: (1.0, 1.5, 2.5, 5.0),
    Change.LESS_CAPTURE: (1.0, 0.8, 0.6, 0.3),
    Change.LESS_CLEANING: (1.0, 0.7, 0.4, 0.15),
    Change.VALVE: (1.0, 2.0, 4.0, 10.0),
    Change.MORE_DEMAND: (1.0, 1.25, 1.6, 2.5),
    Change.LESS_DEMAND: (1.0, 0.8, 0.6, 0.4),
}
"""What is usual, then little, more and much; the by of a switch as a share of its set point. Ours, from memory."""

OF_CONSTANT: Mapping[Change, Constant] = {
    Change.VALVE: Constant.VALVE, Change.LESS_CLEANING: Constant.CLEANING, Change.LESS_CAPTURE: Constant.CAPTURE,
    Change.FASTER_GROWTH: Constant.GROWTH,
}  # fmt: skip
"""The constant of a fit that a change multiplies."""

GRADUAL = frozenset({
    "wash supply weak", "drain restricted", "switch drifts low", "switch drifts high", Change.LESS_CLEANING,
})  # fmt: skip
"""What grows from wash to wash after its beginning."""


@record
class Tried:
    """One fault or change of a stage; `sizes` as in SIZES times what they are shares of, empty where it has none."""

    what: Kind | Change
    stage: str | None
    sizes: tuple[float, ...]
    fault: Fault | None = None

    @property
    def of_what_starts(self) -> bool:
        """Whether it is of a device that starts washes: nothing else of a run changes."""
        return self.fault is not None and self.fault.what in OWN

    @property
    def of_the_bed(self) -> bool:
        """Whether it changes what a bed does alone, neither what a meter counts nor the water of a wash."""
        if self.fault is None:
            return self.what not in (Change.MORE_DEMAND, Change.LESS_DEMAND)
        return self.fault.what in (What.MEDIA_LOST, What.MUDBALLED)

    def put(self, case: Case, size: float) -> Case:
        """A case of the one stage with this, from its start on."""
        if self.fault is None:
            return _changed(case, self.what, size)
        number = NUMBER_OF.get(self.fault.what)
        fault = replace(self.fault, by=size) if number == "by" else self.fault
        fault = replace(fault, share=size) if number == "share" else fault
        return replace(case, faults=(fault,))


def tried_of(case: Case, policy: str, stage: Stage) -> Iterator[Tried]:
    """Everything that can be behind what one stage shows; a power cut leaves nothing that lasts."""
    switch = devices(triggers_of(case, policy)[stage.name]).switch
    for fault in _faults(case, policy, stage.name):
        sizes = SIZES.get(kind_of(fault), ())
        if fault.what in (What.SWITCH_CHATTERS, What.SWITCH_DRIFTS) and switch is not None:
            sizes = tuple(switch.above * size for size in sizes)
        yield Tried(what=kind_of(fault), stage=fault.stage, sizes=sizes, fault=fault)
    for change in Change:
        if change is not Change.VALVE or stage.head_loss.valve_constant > 0.0:
            yield Tried(what=change, stage=stage.name, sizes=SIZES[change])


def _faults(case: Case, policy: str, stage: str) -> Iterator[Fault]:
    """Those that a study of faults tries, and the other way round of those that it tries one way."""
    for fault in possible_faults(case, policy, 0.0):
        if fault.what is What.POWER_CUT or fault.stage not in (None, stage):
            continue
        yield fault
        if fault.what in (What.CLOCK_WRONG, What.SWITCH_DRIFTS):
            yield replace(fault, by=-(fault.by or 0.0))


def _changed(case: Case, what: Kind | Change, size: float) -> Case:
    """The case of one stage with a change over its whole length."""
    (stage,), feed = case.stages, case.feed
    match what:
        case Change.MORE_SOLIDS:
            return replace(case, feed=replace(feed, solids=times(feed.solids, size)))
        case Change.COLDER:
            return replace(case, feed=replace(feed, temperature=_colder(feed.temperature, size)))
        case Change.MORE_DEMAND | Change.LESS_DEMAND:
            flow = times(case.demand.flow, size)
            assert isinstance(flow, Measured)
            return replace(case, demand=Demand(flow=flow, season=case.demand.season))
        case _:
            constant = OF_CONSTANT[Change(what)]
            narrows = constant is Constant.GROWTH and stage.head_loss.growth == "pore-narrowing"
            valve = size * stage.head_loss.valve_constant
            stage = with_constant(stage, constant, valve, 1.0 / size if narrows else size)
            return replace(case, stages=(stage,))


def _colder(series: object, by: float) -> Steady | Seasonal | Measured:
    """Water colder by so much [degC], but no ice; a stage alone has no other series."""
    match series:
        case Steady():
            return Steady(value=max(series.value - by, 0.5))
        case Seasonal():
            return replace(series, mean=max(series.mean - by, series.swing + 0.5))
    assert isinstance(series, Measured)
    return Measured(end=series.end, value=tuple(max(each - by, 0.5) for each in series.value))
