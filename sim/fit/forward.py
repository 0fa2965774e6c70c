"""The model on a log: what the gauges would have shown of one stage, for any values of its constants.

The plant's own run of that stage alone: what the log says of flow and water is its feed and demand, the washes are
those of the log, by hand, and nothing else starts one. A reading at the instant of a wash is of the run before it.
"""

import math
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from statistics import fmean
from typing import TypeAlias

import numpy as np

from hydraulics.media import CATALOGUE
from sim.case.chemistry.records import Carbon, Resin, Solute
from sim.case.fault.records import Fault
from sim.case.fault.records import What as Failed
from sim.case.records import Case
from sim.case.series.records import Demand, Feed, Measured, Profile, Run, Seasonal, Series, Steady
from sim.case.series.series import mean_of
from sim.case.stage.clean_run import inflow_of
from sim.case.stage.defaults import SHARE_OF_ROOM
from sim.case.stage.records import Growth, Layer, Stage
from sim.case.train.records import ByHand, Washing
from sim.case.trigger.records import RIGHT, Policy, Pressure
from sim.fit.constants import Known, known_of
from sim.fit.records import Constant
from sim.log.pieces import Pieces, Values, as_read, pieces
from sim.log.records import Log, What
from sim.log.records import Series as Readings
from sim.plant.layout import COMBINED, FREE, HARDNESS, SERVICE
from sim.plant.line import Line
from sim.plant.simulate import Plant
from sim.plant.stores import Stores

Predicted: TypeAlias = Mapping[What, Values]
"""By kind of reading what the gauges show [SI] at the times of `Forward.times`; nan where nothing flowed."""

MOST_READINGS = 250
"""Of one kind that are compared; of more every n-th."""

POLICY = "recorded"
FOLLOWED = (What.PRESSURE_DROP, What.TURBIDITY_OUT, What.HARDNESS_OUT, What.CHLORINE_OUT)
BESIDE = 1e-9
"""The plant runs on so much longer than the log [days], for a reading at its very end."""


class Forward:
    """What the gauges of a stage would have shown over a log.

    `case`: that of the stage alone, under the log and the law of growth asked for; `known`: the constants that the
    stage has. `times` and `read` are the readings compared, by kind.
    """

    def __init__(self, log: Log, case: Case, stage: str, *, law: Growth | None = None) -> None:
        self.log, self.evaluations = log, 0
        told = [each for each in comparable(log).series if each.what in FOLLOWED]
        steps = {each.what: max(math.ceil(len(each.times) / MOST_READINGS), 1) for each in told}
        self.times = {each.what: np.array(each.times[:: steps[each.what]]) for each in told}
        self.read = {each.what: np.array(each.values[:: steps[each.what]]) for each in told}
        self._all = np.unique(np.concatenate([[], *self.times.values()]))
        self._places = {what: np.searchsorted(self._all, times) for what, times in self.times.items()}
        self.case = _alone(log, case, stage, law, self._all.tolist())
        own = next(each.head_loss.growth for each in case.stages if each.name == stage)
        self.known: Mapping[Constant, Known] = known_of(self.case, log, own_law=law in (None, own))

    def at(self, values: Mapping[Constant, float] | None = None, faults: Sequence[Fault] = ()) -> Predicted:
        """The readings with other values of some constants [SI], and with faults."""
        self.evaluations += 1
        case = self.changed(values or {})
        case = replace(case, faults=tuple(faults)) if faults else case
        shown = np.full((len(FOLLOWED), len(self._all)), math.nan)
        ratio = case.feed.turbidity_ratio or 1.0
        outlet_read = What.TURBIDITY_OUT in self.times
        dissolved = not self.times.keys().isdisjoint(FOLLOWED[2:]) and bool(case.feed.solutes)
        past = [fault.share or 0.0 for fault in case.faults if fault.what is Failed.RAW_PAST]
        alone, through = case.stages[0].vessels.count == 1, math.prod(1.0 - share for share in past)

        def look(number: int, line: Line) -> None:
            i = next((i for i in range(len(line.names)) if line.of_vessel("mode", i) == SERVICE), None)
            if i is None:
                return
            flow, pressure, inlet, outlet = line.reading(i)
            if flow <= 0.0:
                return
            shown[0, number] = pressure
            if outlet_read:
                mixed = through * outlet + (1.0 - through) * inlet if past else outlet
                sent_on = mixed if alone else line.solids_sent_on(0) or 0.0
                shown[1, number] = sent_on / ratio
            if dissolved:
                sent = line.solutes_sent_on(0)
                shown[2, number], shown[3, number] = sent[HARDNESS], sent[FREE] + sent[COMBINED]

        if case.faults or not alone:
            plant = Plant(case, POLICY)
            plant.visit(self._all.tolist(), look)
            plant.run_until(case.run.length)
        else:
            _run(case, self._all.tolist(), look)
        rows = dict(zip(FOLLOWED, shown, strict=True))
        return {what: rows[what][places] for what, places in self._places.items()}

    def flows(self, what: What) -> Values:
        """The flow at each reading of a kind [m3/s]: that read with it, else the mean since the reading before."""
        demand = self.case.demand.flow
        assert isinstance(demand, Measured)
        places = np.searchsorted(demand.end, self.times[what]).clip(max=len(demand.end) - 1)
        found: Values = np.array(demand.value)[places]
        return found

    def changed(self, values: Mapping[Constant, float]) -> Case:
        """The case with other values of some constants [SI, of their first keys]."""
        stage, feed = self.case.stages[0], self.case.feed
        for constant, value in values.items():
            factor = value / self.known[constant].value
            if constant is Constant.SOLIDS_PER_TURBIDITY:
                feed = replace(feed, solids=times(feed.solids, factor), turbidity_ratio=value)
            else:
                stage = with_constant(stage, constant, value, factor)
        if Constant.GROWTH in values and stage.head_loss.growth == "pore-narrowing":
            stage = _fitting(self.case, stage)
        return replace(self.case, stages=(stage,), feed=feed)


def _run(case: Case, times: Sequence[float], look: Callable[[int, Line], None]) -> None:
    """The plant's run of one vessel with nothing but washes by hand, without its processes: a third of the time."""
    line, (stage,) = Line(case), case.stages
    stores, visits = Stores(stage), deque(enumerate(times))

    def carry(to: float, *, with_end: bool) -> None:
        while visits and (visits[0][1] < to or (with_end and visits[0][1] == to)):
            number, time = visits.popleft()
            line.advance_to(time, time)
            look(number, line)
        line.advance_to(to, to)

    for wash in case.washing.by_hand:
        if wash.at >= case.run.length:
            break
        carry(max(wash.at, line.time), with_end=True)
        for number, step in enumerate(stage.steps):
            line.begin(0, number)
            if step.do == "regenerant":
                drawn = stores.draw(step, line.time)
                line.regenerate(0, number, drawn.salt, drawn.permanganate)
            carry(line.time + step.seconds, with_end=False)
            line.finish(0)
            if step.do == "make-up":
                stores.make_up(step.flow * step.seconds, line.time)
        line.serve(0)
    carry(max(case.run.length, line.time), with_end=False)


def comparable(log: Log) -> Log:
    """The log without readings that the model has nothing to set against: what is shown while nothing flows and,
    where flows are read, a pressure drop without its own flow."""
    flow = log.of(What.FLOW)
    if flow is None:
        return log
    known = dict(zip(flow.times, flow.values, strict=True))

    def told(series: Readings) -> Readings:
        if series.what not in FOLLOWED:
            return series
        own = series.what is What.PRESSURE_DROP
        return series.only(n for n, time in enumerate(series.times)
                           if known.get(time) != 0.0 and (time in known or not own))  # fmt: skip

    return replace(log, series=tuple(each for each in map(told, log.series) if each.times))


def with_constant(stage: Stage, constant: Constant, value: float, factor: float) -> Stage:
    """The stage with another value of a constant, all that goes with it times a factor."""
    loss = stage.head_loss
    match constant:
        case Constant.VALVE:
            return replace(stage, head_loss=replace(loss, valve_constant=value))
        case Constant.CLEAN_BED:
            loss = replace(loss, viscous=factor * loss.viscous, inertial=factor * loss.inertial)
            return replace(stage, head_loss=loss)
        case Constant.CLEANING:
            steps = tuple(step if step.cleaning_rate is None else replace(step, cleaning_rate=factor *
                          step.cleaning_rate) for step in stage.steps)  # fmt: skip
            loose, firm = factor * stage.loose_rate, factor * stage.firm_rate
            return replace(stage, loose_rate=loose, firm_rate=firm, steps=steps)
    return replace(stage, layers=tuple(_layer_with(layer, constant, factor) for layer in stage.layers))


def _layer_with(layer: Layer, constant: Constant, factor: float) -> Layer:
    match constant, layer.uptake:
        case Constant.GROWTH, _:
            gain, density = factor * layer.head_loss_gain, factor * layer.deposit_density
            return replace(layer, head_loss_gain=gain, deposit_density=density)
        case Constant.CAPTURE, _:
            return replace(layer, filter_coefficients=tuple(factor * each for each in layer.filter_coefficients))
        case Constant.SOFTENER_CAPACITY, Resin() as resin:
            return replace(layer, uptake=replace(resin, capacities=tuple(factor * each for each in resin.capacities)))
        case Constant.HALF_LENGTH, Carbon() as carbon:
            half, combined = factor * carbon.half_length, factor * carbon.combined_half_length
            return replace(layer, uptake=replace(carbon, half_length=half, combined_half_length=combined))
    return layer


def _fitting(case: Case, stage: Stage) -> Stage:
    """The stage, every ultimate deposit that the case assumes at most what the pores hold, as a case has it."""
    assumed = {each.key for each in case.assumptions}

    def fitted(n: int, layer: Layer) -> Layer:
        if f"stage.{stage.name}.layer.{n}.ultimate_deposit" not in assumed:
            return layer
        room = SHARE_OF_ROOM * layer.deposit_density * (layer.porosity - stage.porosity_floor)
        return replace(layer, ultimate_deposit=min(CATALOGUE[layer.medium].ultimate_deposit.value, room))

    return replace(stage, layers=tuple(fitted(n, layer) for n, layer in enumerate(stage.layers)))


def times(series: Series, factor: float) -> Series:
    """A series, all its values times a factor."""
    match series:
        case Steady():
            return Steady(value=factor * series.value)
        case Measured():
            return series.times(factor)
        case Profile():
            return replace(series, hourly=tuple(factor * each for each in series.hourly))
        case Seasonal():
            return replace(series, mean=factor * series.mean, swing=factor * series.swing)
        case _:
            return replace(series, median=factor * series.median)


def _alone(log: Log, case: Case, name: str, law: Growth | None, times: Sequence[float]) -> Case:
    """The stage of a case alone, under the log."""
    k = next(k for k, stage in enumerate(case.stages) if stage.name == name)
    told = pieces(log, wash_length=sum(step.seconds for step in case.stages[k].steps))
    told = as_read(told, log, times) if times else told
    end = (*told.end[:-1], log.length + BESIDE * 86_400.0)
    flow = fmean([each for each in told.flow if each > 0.0] or [0.0])
    feed, stage = _feed(case, k, told, end, flow)
    stage = replace(
        stage, longest_run=None, longest_run_at=None, switch=None, start_spike=None, valve_spike=None, hold_unit=None,
        clock=RIGHT, least_interval=0.0, only_while=None, not_while=(),
    )  # fmt: skip
    if law is not None:
        stage = replace(stage, head_loss=replace(stage.head_loss, growth=law))
        if law == "pore-narrowing":
            stage = _fitting(case, stage)
    return replace(
        case, run=Run(start=log.start, length=end[-1], allowed_over_limit=None), feed=feed, stages=(stage,),
        demand=Demand(flow=Measured(end=end, value=told.flow), season=None),
        policies=(Policy(name=POLICY, triggers=((name, Pressure(above=math.inf, hold=0.0)),)),),
        washing=Washing(by_hand=tuple(ByHand(stage=name, at=wash.start) for wash in log.washes)),
        downstream=None, pump=None, prices=None, today=None, faults=(),
    )  # fmt: skip


def _feed(case: Case, k: int, told: Pieces, end: tuple[float, ...], flow: float) -> tuple[Feed, Stage]:
    """What comes to stage k: as the log has it, else as the case has it, behind the clean beds of earlier stages."""
    feed, stage = case.feed, case.stages[k]
    temperature = feed.temperature
    if told.temperature is not None:
        temperature = Measured(end=end, value=told.temperature)
    elif not isinstance(temperature, Steady | Seasonal):
        temperature = Steady(value=mean_of(temperature))
    solids, ratio, coagulant = _lasting(feed.solids), feed.turbidity_ratio or 1.0, feed.coagulant
    if told.turbidity is not None:
        solids = Measured(end=end, value=tuple(ratio * each for each in told.turbidity))
        coagulant = coagulant if k == 0 else None
    elif k > 0:
        inflow = inflow_of(case.stages, k, feed, flow=flow, temperature=mean_of(temperature))
        total = inflow.filterable + inflow.fine
        solids, coagulant = Steady(value=total), None
        stage = replace(stage, unfilterable=inflow.fine / total if total > 0.0 else 0.0)
    read: dict[Solute, tuple[float, ...] | None] = {"hardness": told.hardness, "free_chlorine": told.chlorine}
    solutes = tuple(
        (name, _lasting(series) if (values := read.get(name)) is None else Measured(end=end, value=values))
        for name, series in feed.solutes
    )
    acidity = None if feed.acidity is None else _lasting(feed.acidity)
    return replace(feed, temperature=temperature, solids=solids, turbidity_ratio=ratio, coagulant=coagulant,
                   solutes=solutes, acidity=acidity), stage  # fmt: skip


def _lasting(series: Series) -> Series:
    """A series of the case where it holds at any time; the mean of one that is random or of its own run."""
    return series if isinstance(series, Steady | Seasonal | Profile) else Steady(value=mean_of(series))
