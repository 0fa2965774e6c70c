"""The line of water: all mutable state of a plant, and the verbs by which processes change it.

The vessels of a train stand in series: the outlet of one is the feed of the next, the outlet of the last is service.
While one of them washes the train gives nothing; a rinse runs through the stages before it.
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
from sim.plant.figures import RunFigures, read_stage, run_figures
from sim.plant.kernel import advance
from sim.plant.layout import BACKWASH, REACHED, RINSE, SERVICE, SETTLE, STOPPED, STUCK, Rows
from sim.plant.washing import begin_step, bring_up, end_step, find_row, return_to_service, set_watch, start
from sim.wash.flow import wash_flow

ARRAYS = tuple(field.name for field in fields(Arrays))
MODES = {"backwash": BACKWASH, "settle": SETTLE, "rinse": RINSE}
STEPS = {mode: step for step, mode in MODES.items()}
VERBS = (
    advance, bring_up, set_watch, find_row, begin_step, end_step, return_to_service, run_figures, start, read_stage
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
    """Beds, vessel water and ledger of a train, at `time` [s]."""

    def __init__(self, case: Case, *, seed: int = 1, replicate: int = 0) -> None:
        self._arrays = build_arrays(case, seed=seed, replicate=replicate)
        self.time = 0.0
        self._case = case
        self.names = tuple(stage.name for stage in case.stages)
        self.areas = tuple(stage.vessel.area for stage in case.stages)
        self._steps = tuple([_step_row(stage, step) for step in stage.steps] for stage in case.stages)
        self._waiting: dict[int, simpy.Event] = {}
        self._tripped = False  # and perhaps another trigger is met at the same instant
        self._bind()
        for k in range(len(self.names)):
            self._call(start, k)

    def _bind(self) -> None:
        """Views for reading by name, and the kernel's arguments, compiled code taking plain arrays."""
        self.stage: Rows = self._view("stage")
        self.control: Any = self._view("control")[0]
        given = {name: getattr(self._arrays, name) if is_compiled() else self._view(name) for name in ARRAYS}
        self._verbs = {verb: (compile_kernel(verb), [given[name] for name in _rows_of(verb)]) for verb in VERBS}

    def _view(self, name: str) -> Any:
        array = getattr(self._arrays, name)
        return array.view(np.recarray) if array.dtype.names else array

    def _call(self, verb: Any, *args: Any) -> Any:
        run, arrays = self._verbs[verb]
        return run(*args, *arrays)

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
            raise StalledError(time, self.names[self.control.stage], f"mode {self.control.mode}")
        event = self._waiting.pop(who)
        self._tripped = bool(self._waiting)
        return time, who, event

    def at(self, time: float) -> "Line":
        """A copy carried on to exactly `time` [s]; the line itself is not touched."""
        other = copy.copy(self)
        other._arrays = copy.deepcopy(self._arrays)
        other._waiting = {}
        other._bind()
        for k in range(len(self.names)):
            other.unwatch(k)
        other.advance_to(time, time)
        for k in range(len(self.names)):
            other._call(bring_up, k)
        return other

    # What a process may wait for

    def watch_volume(self, k: int, event: simpy.Event, volume: float) -> None:
        """Let `event` happen when stage k has treated `volume` [m3] since its wash."""
        self._waiting[k] = event
        self._call(set_watch, k, volume, math.inf, 0.0)

    def watch_pressure(self, k: int, event: simpy.Event, above: float, hold: float) -> None:
        """Let `event` happen when the signal of stage k has been at or above a value [Pa] for `hold` [s]."""
        self._waiting[k] = event
        self._call(set_watch, k, math.inf, above, hold)

    def unwatch(self, k: int) -> None:
        """Forget what the process of stage k waited for."""
        self._waiting.pop(k, None)
        self._call(set_watch, k, math.inf, math.inf, 0.0)

    # The wash

    def begin(self, k: int, number: int) -> float:
        """Take the train off line and begin a step of the wash of stage k; the flow that it reaches [m3/s]."""
        stage = self._case.stages[k]
        step = stage.steps[number]
        flow = wash_flow(self._case, stage, step, self._call(find_row, self.time))
        self._call(begin_step, k, MODES[step.do], flow, *self._steps[k][number])
        return flow

    def finish(self, k: int) -> tuple[float, float]:
        """End the step of the wash of stage k; all water [m3] and solids [g] it has ever sent to drain."""
        drained: tuple[float, float] = self._call(end_step, k)
        return drained

    def serve(self, k: int) -> None:
        """Put the train back in service after the wash of stage k."""
        self._call(return_to_service, k)

    # Readings

    def run_figures(self, k: int, pressure_set: float) -> RunFigures:
        """What `figures.run_figures` says of the run of stage k that ends now."""
        figures: RunFigures = self._call(run_figures, k, pressure_set)
        return figures

    def reading(self, k: int) -> tuple[float, float, float, float]:
        """Flow through stage k [m3/s], its signal [Pa], inlet and outlet solids [g/m3] at this moment."""
        figures: tuple[float, float, float, float] = self._call(read_stage, k)
        return figures

    def phase(self, k: int) -> str:
        """What stage k is doing: "service", a step of its wash, or "stopped" while another stage washes."""
        if self.control.mode == SERVICE:
            return "service"
        if k == self.control.stage:
            return STEPS[int(self.control.mode)]
        return "service" if self.control.mode == RINSE and k < self.control.stage else "stopped"

    def deposits(self, k: int) -> list[float]:
        """Deposit in each cell of bed k, top down [g/m2]; cells must be up to date."""
        s, layer, cell = self.stage[k], self._view("layer"), self._view("cell")
        held: list[float] = []
        for i in range(s.first_layer, s.end_layer):
            nodes = cell.deposit[layer[i].first_cell : layer[i].end_cell]
            held += np.diff(nodes, prepend=0.0).tolist()
        return held

    def held(self, k: int) -> float:
        """Solids in bed k, its mat, its vessel's water and on their way out of it [g]; cells must be up to date."""
        s = self.stage[k]
        bed = math.fsum(self.deposits(k))
        return float((bed + s.mat) * s.area + s.vessel_solids + s.slough_solids)
