"""The line of water: all mutable state of a plant, and the verbs by which processes change it.

The stages of a train stand in series: the outlet of one is the feed of the next, the outlet of the last is service.
A stage has one or more vessels side by side; the verbs speak of vessels, counted through the whole train.
"""

import copy
import inspect
import math
from dataclasses import fields
from functools import cache
from typing import Any

import numpy as np
import simpy

from hydraulics.compiled import compile_kernel, is_compiled
from sim.case.records import Case, Stage, Step
from sim.plant.build import Arrays, build_arrays
from sim.plant.errors import StalledError
from sim.plant.figures import RunFigures, read_vessel, return_rise, run_figures, service_flow
from sim.plant.kernel import advance
from sim.plant.layout import BACKWASH, REACHED, RINSE, SERVICE, SETTLE, STANDBY, STOPPED, STUCK, VOLUME_TRIP, Rows
from sim.plant.washing import (
    begin_step,
    bring_up,
    end_step,
    find_row,
    hold_unit,
    return_to_service,
    set_wash_flow,
    set_watch,
    stand_by,
    start,
)
from sim.wash.flow import is_supplied, wash_flows

ARRAYS = tuple(field.name for field in fields(Arrays))
MODES = {"backwash": BACKWASH, "settle": SETTLE, "rinse": RINSE}
PHASES = {mode: step for step, mode in MODES.items()} | {SERVICE: "service", STANDBY: "standby"}
VERBS = (
    advance, bring_up, set_watch, find_row, begin_step, end_step, return_to_service, stand_by, hold_unit, run_figures,
    start, read_vessel, return_rise, set_wash_flow, service_flow,
)  # fmt: skip


def _step_row(stage: Stage, step: Step) -> tuple[float, ...]:
    """Wash water, cleaning rates of a step and whether shear scales them, as `begin_step` takes them."""
    loose, firm = stage.loose_rate or 0.0, stage.firm_rate or 0.0
    if step.air:
        loose, firm = stage.air_factor * loose, stage.air_factor * firm
    if step.cleaning_rate is not None:
        loose = firm = step.cleaning_rate
    return step.water == "raw", step.water_solids or 0.0, loose, firm, step.cleaning_rate is None


@cache
def _rows_of(verb: Any) -> tuple[str, ...]:
    """The arguments of a verb that are rows of the line, by their names in `Arrays`."""
    return tuple(name for name in inspect.signature(verb).parameters if name in ARRAYS)


class Line:
    """Beds, vessel water, tank and ledger of a train, at `time` [s]."""

    def __init__(self, case: Case, *, seed: int = 1, replicate: int = 0) -> None:
        self._arrays = build_arrays(case, seed=seed, replicate=replicate)
        self.time = 0.0
        self._case = case
        self._steps = tuple([_step_row(stage, step) for step in stage.steps] for stage in case.stages)
        self._waiting: dict[int, simpy.Event] = {}
        self._supplied: dict[int, tuple[Stage, Step]] = {}  # backwashes that draw on the supply
        self.tripped_on_volume = False
        self._tripped = False  # and perhaps another trigger is met at the same instant
        self._bind()
        self.names = tuple(_vessel_name(case.stages[s.stage], i - self.stage[s.stage].first_vessel)
                           for i, s in enumerate(self.vessel))  # fmt: skip
        self.areas = tuple(float(s.area) for s in self.vessel)
        for i, s in enumerate(self.vessel):
            self._call(start, i)
            if i - self.stage[s.stage].first_vessel >= self.stage[s.stage].sharing:
                self.rest(i)

    def _bind(self) -> None:
        """Views for reading by name, and the kernel's arguments, compiled code taking plain arrays."""
        self.stage: Rows = self._view("stage")
        self.vessel: Rows = self._view("vessel")
        self.control: Any = self._view("control")[0]
        self.unit: Any = self._view("unit")[0]
        given = {name: getattr(self._arrays, name) if is_compiled() else self._view(name) for name in ARRAYS}
        self._verbs = {verb: (compile_kernel(verb), [given[name] for name in _rows_of(verb)]) for verb in VERBS}

    def _view(self, name: str) -> Any:
        array = getattr(self._arrays, name)
        return array.view(np.recarray) if array.dtype.names else array

    def _call(self, verb: Any, *args: Any) -> Any:
        run, arrays = self._verbs[verb]
        return run(*args, *arrays)

    def vessels_of(self, k: int) -> range:
        """The vessels of stage k."""
        return range(int(self.stage[k].first_vessel), int(self.stage[k].end_vessel))

    # The clock

    def advance_to(self, until: float, stop: float) -> tuple[float, int, simpy.Event] | None:
        """Carry the water to `until`, or to the first trip before; pieces that end after `stop` stay undone.

        Raises StalledError when piece after piece takes no time.
        """
        if until <= self.time and not self._tripped:
            return None
        self._tripped = False
        time, ended, who = self._call(advance, self.time, until, stop)
        self.time = time
        if ended in (REACHED, STOPPED):
            return None
        if ended == STUCK:
            doing = ", ".join(PHASES[int(s.mode)] for s in self.vessel)
            raise StalledError(time, ", ".join(self.names), f"in {doing}; tank level {self.unit.level:.6g} m3")
        self.tripped_on_volume = ended == VOLUME_TRIP
        event = self._waiting.pop(who)
        self._tripped = bool(self._waiting)
        return time, who, event

    def at(self, time: float) -> "Line":
        """A copy carried on to exactly `time` [s]; the line itself is not touched."""
        other = copy.copy(self)
        other._arrays = copy.deepcopy(self._arrays)
        other._waiting, other._supplied = {}, {}
        other._bind()
        for i in range(len(self.names)):
            other.unwatch(i)
        other.advance_to(time, time)
        for i in range(len(self.names)):
            other._call(bring_up, i)
        return other

    # What a process may wait for

    def watch(
        self, i: int, event: simpy.Event, *, volume: float = math.inf, above: float = math.inf, hold: float = 0.0
    ) -> None:
        """Let `event` happen once vessel i has treated `volume` [m3] since its wash, or its signal has been at or
        above a value [Pa] for `hold` [s]; `tripped_on_volume` then tells which."""
        self._waiting[i] = event
        self._call(set_watch, i, volume, above, hold)

    def unwatch(self, i: int) -> None:
        """Forget what the process of vessel i waited for."""
        self._waiting.pop(i, None)
        self._call(set_watch, i, math.inf, math.inf, 0.0)

    # The wash

    def begin(self, i: int, number: int) -> float:
        """Take vessel i off line and begin a step of its wash; the flow that it reaches [m3/s].

        Backwashes that draw on the supply at the same time share it: the flow of those under way falls.
        """
        k = int(self.vessel[i].stage)
        stage = self._case.stages[k]
        step = stage.steps[number]
        self._call(find_row, self.time)
        self._call(begin_step, i, MODES[step.do], step.flow, *self._steps[k][number])
        if self._case.supply is not None and is_supplied(stage, step):
            self._supplied[i] = (stage, step)
            self._share_supply()
        return float(self.vessel[i].wash_flow)

    def finish(self, i: int) -> tuple[float, float]:
        """End the step of the wash of vessel i; all water [m3] and solids [g] it has ever sent to drain."""
        drained: tuple[float, float] = self._call(end_step, i)
        if self._supplied.pop(i, None) is not None and self._supplied:
            self._share_supply()
        return drained

    def _share_supply(self) -> None:
        """Give every backwash under way what the supply leaves it."""
        supply = self._case.supply
        temperature = self._call(find_row, self.time)
        service = self._call(service_flow) if supply is not None and supply.shared_with_service else 0.0
        flows = wash_flows(self._case, tuple(self._supplied.values()), temperature, service)
        for i, flow in zip(self._supplied, flows, strict=True):
            self._call(set_wash_flow, i, flow)

    @property
    def draining(self) -> float:
        """All that flows to drain at this moment [m3/s]."""
        return math.fsum(float(s.wash_flow) for s in self.vessel if s.mode in (BACKWASH, RINSE))

    def serve(self, i: int) -> None:
        """Put vessel i in service."""
        self._call(return_to_service, i)

    def rest(self, i: int) -> None:
        """Have vessel i stand by, washed, beside the others of its stage."""
        self._call(stand_by, i)

    def hold(self, more: int) -> None:
        """One wash more (1) or less (-1) holds the unit downstream."""
        self._call(hold_unit, more)

    # Readings

    def run_figures(self, i: int, pressure_set: float) -> RunFigures:
        """What `figures.run_figures` says of the run of vessel i that ends now."""
        figures: RunFigures = self._call(run_figures, i, pressure_set)
        return figures

    def reading(self, i: int) -> tuple[float, float, float, float]:
        """Flow through vessel i [m3/s], its signal [Pa], inlet and outlet solids [g/m3] at this moment."""
        figures: tuple[float, float, float, float] = self._call(read_vessel, i)
        return figures

    def rise_on_return(self, i: int) -> float:
        """Signal of vessel i [Pa] above that of its bed without any deposit, at the flow of this moment."""
        return float(self._call(return_rise, i))

    def phase(self, i: int) -> str:
        """What vessel i is doing: "service", "standby", a step of its wash, or "stopped" where no water moves."""
        s = self.vessel[i]
        if s.mode == SERVICE and not self._reached(int(s.stage)):
            return "stopped"
        return PHASES[int(s.mode)]

    def _reached(self, k: int) -> bool:
        """Whether the water of stage k can go on: to service, or into the rinse of a later stage."""
        closed = next((j for j, p in enumerate(self.stage) if p.serving == 0 and p.passes_raw == 0), None)
        if closed is None:
            return True
        pulls = [int(s.stage) for s in self.vessel if s.mode == RINSE or (s.mode == BACKWASH and s.pulls == 1)]
        return any(k < stage <= closed for stage in pulls)

    def deposits(self, i: int) -> list[float]:
        """Deposit in each cell of bed i, top down [g/m2]; cells must be up to date."""
        s, layer, cell = self.vessel[i], self._view("layer"), self._view("cell")
        held: list[float] = []
        for row in range(s.first_layer, s.end_layer):
            nodes = cell.deposit[layer[row].first_cell : layer[row].end_cell]
            held += np.diff(nodes, prepend=0.0).tolist()
        return held

    def held(self, i: int) -> float:
        """Solids in bed i, its mat, its vessel's water and on their way out of it [g]; cells must be up to date."""
        s = self.vessel[i]
        bed = math.fsum(self.deposits(i))
        return float((bed + s.mat) * s.area + s.vessel_solids + s.slough_solids)


def _vessel_name(stage: Stage, place: int) -> str:
    """What a vessel is called: as its stage, numbered from 1 where there are several."""
    return stage.name if stage.vessels.count == 1 else f"{stage.name} {place + 1}"
