"""The line of water: all mutable state of a plant, and the verbs by which processes change it.

The stages of a train stand in series: the outlet of one is the feed of the next, the outlet of the last is service.
A stage has one or more vessels side by side; the verbs speak of vessels, counted through the whole train.
"""

import copy
import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Literal, NamedTuple, TypeAlias

import numpy as np
import simpy

from sim.case.records import Case
from sim.case.stage.records import Do, Stage, Step
from sim.plant.build import ANY_NUMBER, build_tables
from sim.plant.damage import lose_capacity, lose_media, mudball
from sim.plant.errors import StalledError
from sim.plant.figures import RunFigures, read_at, read_vessel, return_rise, run_figures, service_flow
from sim.plant.kernel import advance
from sim.plant.layout import (
    BACKWASH,
    FREE,
    HARDNESS,
    IRON,
    MANGANESE,
    MONITOR_TRIP,
    PRESSURE_TRIP,
    REACHED,
    REGENERANT,
    RINSE,
    SERVICE,
    SETTLE,
    SOLUTE_COUNT,
    STANDBY,
    STOPPED,
    STUCK,
    VOLUME_TRIP,
    Rows,
    Tables,
)
from sim.plant.made import entry, has_compiled
from sim.plant.outlet import SOLUTE, STAGE
from sim.plant.regeneration import Regeneration, free_share, regenerate
from sim.plant.solutes import sent_on
from sim.plant.unit import asked_flow
from sim.plant.washing import (
    begin_step,
    bring_up,
    end_step,
    find_row,
    hold_anew,
    hold_unit,
    return_to_service,
    set_wash_flow,
    set_watch,
    stand_by,
    start,
)
from sim.wash.flow import is_supplied, wash_flows

MODES: dict[Do, int] = {
    "backwash": BACKWASH, "settle": SETTLE, "regenerant": REGENERANT, "displacement": RINSE, "rinse": RINSE,
    "make-up": SETTLE,
}  # fmt: skip
SERVES = {SERVICE: "service", STANDBY: "standby"}
Trip: TypeAlias = Literal["volume", "pressure", "monitor"]
TRIPS: dict[int, Trip] = {VOLUME_TRIP: "volume", PRESSURE_TRIP: "pressure", MONITOR_TRIP: "monitor"}
Monitor: TypeAlias = Literal["turbidity", "hardness", "chlorine"]
MONITORS: dict[Monitor, int] = {"turbidity": STAGE, "hardness": SOLUTE + HARDNESS, "chlorine": SOLUTE + FREE}


def _step_row(stage: Stage, step: Step) -> tuple[float, ...]:
    """What `begin_step` takes: mode, flow, wash water, cleaning rates of a step, whether shear scales these, whether
    it displaces a regenerant."""
    loose, firm = stage.loose_rate or 0.0, stage.firm_rate or 0.0
    if step.air:
        loose, firm = stage.air_factor * loose, stage.air_factor * firm
    if step.cleaning_rate is not None:
        loose = firm = step.cleaning_rate
    water = step.water == "raw", step.water_solids or 0.0
    flow, slow = 0.0 if step.do == "make-up" else step.flow, step.do == "displacement"
    return MODES[step.do], flow, *water, loose, firm, step.cleaning_rate is None, slow


class Used(NamedTuple):
    """What an uptake of a layer, `layer` from 0, has taken up: equivalents per area [per m2] as its filter run began
    (`fresh`) and now, of `capacity` [per m3] over `depth` [m]; `coefficient` [1/m] at the last flow."""

    layer: int
    depth: float
    capacity: float
    coefficient: float
    fresh: float
    used: float


class Line:
    """Beds, vessel water, tank and ledger of a train, at `time` [s]."""

    def __init__(self, case: Case, *, seed: int = 1, replicate: int = 0) -> None:
        self._compiled = has_compiled()
        self._take(build_tables(case, seed=seed, replicate=replicate))
        self.time = 0.0
        self._case = case
        self._steps = tuple([_step_row(stage, step) for step in stage.steps] for stage in case.stages)
        self._waiting: dict[int, simpy.Event] = {}
        self._under_way: dict[int, int] = {}  # steps that have begun and not ended: vessel and number
        self._held: set[int] = set()  # vessels whose step stands still
        self._wash_share = 1.0, 1.0  # what supply and drain reach at most of the flow of a step
        self._eased = False  # and whether any step has ever been made to flow otherwise
        self._tripped_on: dict[int, Trip] = {}  # the last time
        self._doing: dict[int, Do] = {}  # the step of each wash under way
        self._tripped = False  # and perhaps another trigger is met at the same instant
        self.places = tuple((k, place) for k, stage in enumerate(case.stages) for place in range(stage.vessels.count))
        self.names = tuple(_vessel_name(case.stages[k], place) for k, place in self.places)
        self.areas = tuple(case.stages[k].vessel.area for k, _ in self.places)
        for i, (k, place) in enumerate(self.places):
            self._call(start, i)
            if place >= case.stages[k].vessels.sharing:
                self.rest(i)

    def _take(self, tables: Tables) -> None:
        """Have these tables as the state: compiled code takes plain arrays, Python reads rows by name."""
        self._tables = tables if self._compiled else Tables(*(table.view(np.recarray) for table in tables))
        self._bound: dict[Any, tuple[Any, Tables]] = {}
        self.stage: Rows = tables.stage.view(np.recarray)
        self.vessel: Rows = tables.vessel.view(np.recarray)
        self.control: Any = tables.control.view(np.recarray)[0]  # the row of the whole line
        self.unit: Any = tables.unit.view(np.recarray)[0]

    def read(self, kind: str) -> list[dict[str, Any]]:
        """All rows of one kind as plain numbers by name, which is far quicker than to look up one by one."""
        table = getattr(self._tables, kind)
        return [dict(zip(table.dtype.names, row, strict=True)) for row in table.tolist()]

    def _call(self, verb: Any, *args: Any) -> Any:
        run, tables = self._bound.get(verb) or self._bind(verb)
        return run(*args, tables)

    def _bind(self, verb: Any) -> tuple[Any, Tables]:
        """What runs a verb, and the tables for it: those that it takes."""
        run, used = entry(verb, self._compiled)
        given = Tables(*(table if name in used else None for name, table in self._tables._asdict().items()))
        self._bound[verb] = run, given
        return run, given

    def vessels_of(self, k: int) -> list[int]:
        """The vessels of stage k."""
        return [i for i, (stage, _) in enumerate(self.places) if stage == k]

    # The clock

    def advance_to(self, until: float, stop: float) -> tuple[float, int, simpy.Event] | None:
        """Carry the water to `until`, or to the first trip before; pieces that end after `stop` stay undone.

        Raises StalledError when piece after piece takes no time.
        """
        if until <= self.time and not self._tripped:
            return None
        self._tripped = False
        before = self._tables.copy() if until > stop else None
        time, ended, who = self._call(advance, self.time, until, stop)
        if before is not None and ended == STOPPED:
            # The piece that stays undone has sloughed deposit and read beds: the same again, up to its beginning.
            pieces = self.control.pieces
            self._take(before)
            self.control.most_pieces = pieces
            self._call(advance, self.time, until, stop)
            self.control.most_pieces = ANY_NUMBER
        self.time = time
        if ended in (REACHED, STOPPED):
            return None
        if ended == STUCK:
            doing = ", ".join((SERVES.get(int(s.mode)) or self._doing[i]) for i, s in enumerate(self.vessel))
            raise StalledError(time, ", ".join(self.names), f"in {doing}; tank level {self.unit.level:.6g} m3")
        self._tripped_on[who] = TRIPS[ended]
        event = self._waiting.pop(who)
        self._tripped = bool(self._waiting)
        return time, who, event

    def at(self, time: float) -> "Line":
        """A copy carried on to exactly `time` [s]; the line itself is not touched."""
        other = copy.copy(self)
        other._take(self._tables.copy())
        other._waiting, other._under_way = {}, {}
        other._tripped_on, other._doing = {}, dict(self._doing)
        for i in range(len(self.names)):
            other.unwatch(i)
        other.advance_to(time, time)
        for i in range(len(self.names)):
            other._call(bring_up, i)
        return other

    # What a process may wait for

    def watch(
        self,
        i: int,
        event: simpy.Event,
        *,
        volume: float = math.inf,
        above: float = math.inf,
        hold: float = 0.0,
        monitor: tuple[Monitor, float] | None = None,
        monitor_hold: float = 0.0,
    ) -> None:
        """Let `event` happen once vessel i has treated `volume` [m3] since its wash, its signal has been at or above
        a value [Pa] for `hold` [s], or what its stage sends on has been at or above the mark of a monitor [g/m3] for
        `monitor_hold` [s]; `tripped_on` then tells which.

        A monitor shows solids as turbidity, all oxidants as chlorine. Without flow to service a hold breaks.
        """
        self._waiting[i] = event
        of, conc = (STAGE, math.inf) if monitor is None else (MONITORS[monitor[0]], monitor[1])
        self._call(set_watch, i, volume, above, hold, of, conc, monitor_hold)

    def tripped_on(self, i: int) -> Trip:
        """What of vessel i tripped the last time; of what is met at one instant the monitor, then the volume."""
        return self._tripped_on[i]

    def hold_anew(self, i: int) -> None:
        """Have every hold of vessel i begin anew, as where its switch or monitor has just been changed."""
        self._call(hold_anew, i)

    def unwatch(self, i: int) -> None:
        """Forget what the process of vessel i waited for."""
        self._waiting.pop(i, None)
        self._call(set_watch, i, math.inf, math.inf, 0.0, STAGE, math.inf, 0.0)

    # The wash

    def begin(self, i: int, number: int) -> float:
        """Take vessel i off line and begin a step of its wash; the flow that it reaches [m3/s].

        Backwashes that draw on the supply at the same time share it: the flow of those under way falls.
        """
        k, _ = self.places[i]
        step = self._case.stages[k].steps[number]
        self._doing[i], self._under_way[i] = step.do, number
        self._call(begin_step, i, self.time, *self._steps[k][number])
        if step.do != "make-up" and (self._eased or self._is_supplied(i)):
            self._set_wash_flows()
            return float(self.of_vessel("wash_flow", i))
        return step.flow

    def regenerate(self, i: int, number: int, salt: float, permanganate: float) -> Regeneration:
        """Have step `number` of the wash of vessel i, a regenerant that begins now, bring these masses [g]."""
        k, _ = self.places[i]
        return regenerate(self._case.stages[k], number, i, self._tables, salt, permanganate)

    def finish(self, i: int) -> tuple[float, float]:
        """End the step of the wash of vessel i; all water [m3] and solids [g] it has ever sent to drain."""
        drained: tuple[float, float] = self._call(end_step, i)
        self._doing[i] = "settle"
        self._held.discard(i)
        shared = self._is_supplied(i)
        del self._under_way[i]
        if shared and any(self._is_supplied(other) for other in self._under_way):
            self._set_wash_flows()
        return drained

    def _step(self, i: int) -> tuple[Stage, Step]:
        """The step under way in vessel i, with its stage."""
        stage = self._case.stages[self.places[i][0]]
        return stage, stage.steps[self._under_way[i]]

    @property
    def under_way(self) -> Mapping[int, int]:
        """The steps of washes that have begun and not ended: vessel and number."""
        return self._under_way

    def _is_supplied(self, i: int) -> bool:
        """Whether the wash supply drives the step under way in vessel i."""
        return self._case.supply is not None and is_supplied(*self._step(i))

    def _stands(self, i: int) -> bool:
        """Whether the step under way in vessel i is held, or lacks the power to flow."""
        return i in self._held or not (self.control.power or is_supplied(*self._step(i)))

    def _set_wash_flows(self) -> None:
        """Give every step under way what supply, drain and power leave it."""
        asked: dict[int, tuple[Stage, Step]] = {}
        for i in self._under_way:
            stage, step = self._step(i)
            share = min(self._wash_share) if step.do == "backwash" else self._wash_share[1]
            share = 0.0 if self._stands(i) else share
            asked[i] = stage, step if share == 1.0 else replace(step, flow=share * step.flow)
        supplied = tuple(i for i in asked if self._is_supplied(i) and not self._stands(i))
        flows = {i: step.flow for i, (_, step) in asked.items() if self._eased and step.do != "make-up"}
        if supplied:
            supply, temperature = self._case.supply, self._call(find_row, self.time)
            service = self._call(service_flow) if supply is not None and supply.shared_with_service else 0.0
            found = wash_flows(self._case, tuple(asked[i] for i in supplied), temperature, service)
            flows |= dict(zip(supplied, found, strict=True))
        for i, flow in flows.items():
            *_, loose, firm, _, _ = self._steps[self.places[i][0]][self._under_way[i]]
            rates = (0.0, 0.0) if self._stands(i) else (loose, firm)
            self._call(set_wash_flow, i, flow, *rates)

    # What fails

    def set_wash_share(self, supply: float, drain: float) -> None:
        """Have backwashes reach at most a share of the flow they ask for by the supply, and all that flows to drain
        by the drain; those under way too."""
        self._wash_share, self._eased = (supply, drain), True
        self._set_wash_flows()

    def set_power(self, on: bool) -> None:
        """Cut the power, or give it back. Without it nothing is pumped: no service, and of washes only backwashes
        from a header flow, unless `hold_step` holds them; the unit stands, while its tank goes on giving."""
        self._tables.control["power"][0] = on
        self._eased = True
        self._set_wash_flows()

    def hold_step(self, i: int, flows: bool) -> None:
        """Have the step under way in vessel i stand still, nothing flowing and nothing cleaned, or flow again."""
        (self._held.discard if flows else self._held.add)(i)
        self._eased = True
        self._set_wash_flows()

    def set_past(self, k: int, share: float) -> None:
        """Have a share of the water of stage k go past its beds in service, 1 at most, into what it sends on."""
        self._tables.stage["past"][k] = share

    def set_passing(self, k: int, share: float) -> None:
        """Have a share, below 1, of what flows into the vessels in service of stage k leak to drain ahead of the bed;
        the stages before send that on too."""
        self._tables.stage["passing"][k] = share

    def lose_media(self, i: int, share: float) -> None:
        """Take a share, below 1, of the media of vessel i away, with what they hold."""
        self._call(lose_media, i, share)

    def lose_capacity(self, i: int, share: float) -> None:
        """Take a share, below 1, of the capacity from all that takes up what is dissolved in vessel i."""
        self._call(lose_capacity, i, share)

    def mudball(self, i: int, share: float) -> None:
        """Have a share, below 1, of the whole area of vessel i carry no water; 0: all of it does again."""
        self._call(mudball, i, share)

    def set_dose(self, k: int, factor: float) -> None:
        """Dose so many times what the case has ahead of stage k: oxidant, air, for the first also coagulant."""
        self._tables.stage["dose_factor"][k] = factor

    @property
    def draining(self) -> float:
        """All that flows to drain at this moment [m3/s]."""
        vessel = self._tables.vessel
        draining = zip(vessel["mode"].tolist(), vessel["wash_flow"].tolist(), strict=True)
        return math.fsum(flow for mode, flow in draining if mode in (BACKWASH, RINSE, REGENERANT))

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

    def of_vessel(self, name: str, i: int) -> Any:
        """One number of the row of vessel i by its name in `layout`; its `mode` is SERVICE be there water or not."""
        return self._tables.vessel[name].item(i)

    def spike(self, k: int) -> float:
        """What of the signal of stage k passes in seconds [Pa]."""
        return float(self._tables.stage["spike"].item(k))

    def of_unit(self, name: str) -> float:
        """One number of the row of the unit downstream by its name in `layout`."""
        return float(self._tables.unit[name].item(0))

    def unit_idle(self) -> bool:
        """Whether the unit downstream asks for no water at this moment; so it is without a unit."""
        return not self.unit.exists or self._call(asked_flow) <= 0.0

    def tank_level(self) -> float:
        """What is in the tank of the unit downstream [m3]; 0 without a unit."""
        return self.of_unit("level")

    def triggers_so_far(self, i: int) -> tuple[int, int]:
        """Early and missed triggers of the switch of vessel i."""
        return self.of_vessel("early", i), self.of_vessel("missed", i)

    def run_figures(self, i: int, pressure_set: float) -> RunFigures:
        """What `figures.run_figures` says of the run of vessel i that ends now."""
        figures: RunFigures = self._call(run_figures, i, pressure_set)
        return figures

    def capacity_left(self, i: int) -> float | None:
        """Share of the capacity that its run began with which vessel i still has; None where nothing restores it."""
        return free_share(i, self._tables)

    def reading(self, i: int) -> tuple[float, float, float, float]:
        """Flow through vessel i [m3/s], its signal [Pa], inlet and outlet solids [g/m3] at this moment."""
        figures: tuple[float, float, float, float] = self._call(read_vessel, i, self.time)
        return figures

    def reading_at(self, i: int, flow: float) -> tuple[float, float]:
        """The gauge of vessel i [Pa] at a flow [m3/s], spikes apart: as its filter run began, and now."""
        at_flow: tuple[float, float] = self._call(read_at, i, flow)
        return at_flow

    def solids_sent_on(self, k: int) -> float | None:
        """Solids in what stage k sends on at this moment [g/m3]; None where it sends nothing on."""
        self.reading(int(self.stage[k].first_vessel))  # carries the water through stage k, on trial
        p = self.stage[k]
        if p.through <= 0.0 or (p.serving == 0 and p.passes_raw == 0):
            return None
        return float(self._tables.trial.view(np.recarray)[k + 1].out_end)

    def sent_on(self, k: int) -> tuple[float, ...] | None:
        """Hardness, iron, manganese and oxidant as chlorine in what stage k sends on at this moment [g/m3], as its
        limits count them; None where it sends nothing on or nothing dissolved is followed."""
        if self.control.dissolves == 0:
            return None
        self.reading(int(self.stage[k].first_vessel))  # carries the water through stage k, on trial
        p = self.stage[k]
        if p.through <= 0.0 or (p.serving == 0 and p.passes_raw == 0):
            return None
        water, dissolved = (table.view(np.recarray) for table in (self._tables.trial, self._tables.tried))
        return tuple(float(sent_on(k, n, water, dissolved)) for n in (HARDNESS, IRON, MANGANESE, FREE))

    def solutes_sent_on(self, k: int) -> list[float]:
        """What stage k sends on of every solute [g/m3], in their order, as the last `reading` found it."""
        ends: list[float] = self._tables.tried["end"][(k + 1) * SOLUTE_COUNT : (k + 2) * SOLUTE_COUNT].tolist()
        return ends

    def used_up(self, i: int) -> list[Used]:
        """What every uptake of vessel i has taken up by now, at its last flow."""
        s, found = self.vessel[i], []
        for u in range(s.first_uptake, s.end_uptake):
            c = self._tables.uptake.view(np.recarray)[u]
            rate = float(c.reference_rate * s.area / s.last_flow) if s.last_flow > 0.0 else 1.0
            found.append(
                Used(int(c.layer), float(c.depth), float(c.capacity), float(c.coefficient * c.fading) * rate,
                     float(c.fresh), float(c.used))
            )  # fmt: skip
        return found

    def rise_on_return(self, i: int) -> float:
        """Signal of vessel i [Pa] above that of its bed without any deposit, at the flow of this moment."""
        return float(self._call(return_rise, i))

    def phase(self, i: int) -> str:
        """What vessel i is doing: "service", "standby", a step of its wash, or "stopped" where no water moves."""
        mode = self.of_vessel("mode", i)
        if mode == SERVICE and not self._reached(self.of_vessel("stage", i)):
            return "stopped"
        return SERVES.get(mode) or self._doing[i]

    def _reached(self, k: int) -> bool:
        """Whether the water of stage k can go on: to service, or into the rinse of a later stage."""
        stage = self._tables.stage
        if self._tables.control["power"].item(0) == 0:
            return False
        (closed,) = np.nonzero((stage["serving"] == 0) & (stage["passes_raw"] == 0))
        if not closed.size:
            return True
        pulls = [int(s.stage) for s in self.vessel if s.mode == RINSE or (s.mode == BACKWASH and s.pulls == 1)]
        return any(k < stage <= closed[0] for stage in pulls)

    def deposits(self, i: int) -> list[float]:
        """Deposit in each cell of bed i, top down [g/m2]; cells must be up to date."""
        s, held = self._tables.vessel[i], []
        for layer in self._tables.layer[s["first_layer"] : s["end_layer"]]:
            nodes = self._tables.cell["deposit"][layer["first_cell"] : layer["end_cell"]]
            held += np.diff(nodes, prepend=0.0).tolist()
        return held

    def held(self, i: int) -> float:
        """Solids in bed i, its mat, its vessel's water and on their way out of it [g]; cells must be up to date."""
        s = self._tables.vessel[i]
        layers = self._tables.layer[s["first_layer"] : s["end_layer"]]
        bed = math.fsum(self._tables.cell["deposit"][layers["end_cell"] - 1])
        return float((bed + s["mat"]) * s["area"] + s["vessel_solids"] + s["slough_solids"] + s["locked"])


def _vessel_name(stage: Stage, place: int) -> str:
    """What a vessel is called: as its stage, numbered from 1 where there are several."""
    return stage.name if stage.vessels.count == 1 else f"{stage.name} {place + 1}"
