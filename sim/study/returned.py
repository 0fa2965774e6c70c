"""One wash looked at closely: the vessel before it and after it, and the water that it sends on."""

import math
from collections.abc import Iterator, Sequence
from itertools import chain, pairwise
from operator import itemgetter

from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.units import GRAMS_PER_KILOGRAM, MINUTE
from sim.plant.line import Line
from sim.plant.records import LogEntry, RunResult
from sim.plant.simulate import Plant, simulate
from sim.plant.trace import Slice, slices_of
from sim.study.errors import RequestError
from sim.study.vessels import OneVessel, vessels

AFTER = (0.5, 1.0, 2.0, 4.0, 8.0, 15.0, 30.0)
"""Minutes since water flows again at which a jar of filtered water is drawn."""
BETWEEN = tuple(0.25 * step for step in range(1, 121))


@record
class Vessel:
    """A vessel at one moment: the deposit in its bed by depth, all of it [kg], and solids in its water [g/m3]."""

    slices: tuple[Slice, ...]
    bed_kg: float
    water_mg_l: float


@record
class Returned:
    """The first wash of a vessel of a stage after which water flows at once, and what came out after it.

    Where there is none, since nobody asks for water as the vessel returns, the first after which it flows later.
    `outlet` are minutes since it flows and the solids in the filtered water [g/m3]; `jars` the same at AFTER.
    Water and solids of the steps are those of this wash; `sent_on_kg` is the mean of all washes of the stage, None
    where it has no limit.
    """

    result: RunResult
    stage: Stage
    back_s: float
    before: Vessel
    after: Vessel
    outlet: tuple[tuple[float, float], ...]
    jars: tuple[tuple[float, float], ...]
    backwash_m3: float
    rinse_m3: float
    to_drain_kg: float
    sent_on_kg: float | None


def after_wash(case: Case, policy: str, stage: str, *, seed: int = 1) -> Returned:
    """Run a policy and look at a wash of one of its stages; RequestError if no wash returns to flowing water."""
    result = simulate(case, policy, seed=seed)
    own = [(i, each) for i, each in enumerate(vessels(case)) if each.stage.name == stage]
    washes = [(begun.start_s, i, each, ended, begun.end_s)
              for i, each in own for ended, begun in pairwise(each.runs(result))]  # fmt: skip
    washes.sort(key=itemgetter(0, 1))
    looks = [(i, back + BETWEEN[0] * MINUTE) for back, i, *_ in washes]
    at_once = ((washes[place], washes[place][0]) for place in _flowing(case, policy, looks, seed))
    later = ((each, _flows_from(case, policy, each[1], each[0], each[-1], seed)) for each in washes)
    for (back, i, vessel, ended, _), flows in chain(at_once, later):
        outlet = {} if flows is None else _outlet(case, policy, i, flows, seed)
        if outlet:
            return _returned(case, result, i, vessel, ended.end_s, back, outlet, seed)
    raise RequestError(f"no wash of {stage} returns to flowing water within the {result.days:g} days of this run")


def _flows_from(case: Case, policy: str, i: int, back: float, until: float, seed: int) -> float | None:
    """When water first flows through a vessel after its return `back` and before `until` [s], to a second."""
    minutes = [back + step * MINUTE for step in range(1, int((until - back) // MINUTE) + 1)]
    for place in _flowing(case, policy, [(i, time) for time in minutes], seed):
        seconds = [minutes[place] - MINUTE + second for second in range(int(MINUTE) + 1)]
        return next(seconds[each] for each in _flowing(case, policy, [(i, time) for time in seconds], seed))
    return None


def _flowing(case: Case, policy: str, looks: Sequence[tuple[int, float]], seed: int) -> Iterator[int]:
    """The places of those looks, each at a vessel at a time [s], rising, at which water flows through it."""
    plant = Plant(case, policy, seed=seed)
    for place, (i, time) in enumerate(looks):
        plant.run_until(time)
        line = plant.look()
        if line.phase(i) in ("service", "stopped") and line.reading(i)[0] > 0.0:
            yield place


def _outlet(case: Case, policy: str, i: int, back: float, seed: int) -> dict[float, float]:
    """Solids in the filtered water by minutes since it flows again at `back` [s]."""
    plant = Plant(case, policy, seed=seed)
    found: dict[float, float] = {}
    for minutes in sorted({*AFTER, *BETWEEN}):
        time = back + minutes * MINUTE
        if time >= case.run.length:
            break
        plant.run_until(time)
        line = plant.look()
        if line.phase(i) not in ("service", "stopped"):
            break
        flow, _, _, outlet = line.reading(i)
        if flow > 0.0:
            found[minutes] = outlet
        elif not found:
            return {}
    return found


def _returned(
    case: Case,
    result: RunResult,
    i: int,
    vessel: OneVessel,
    begins: float,
    back: float,
    outlet: dict[float, float],
    seed: int,
) -> Returned:
    """The wash of vessel i from `begins` to `back` [s], and its outlet from then on."""
    log = [each for each in result.log if each.who == vessel.name and begins < each.time_s <= back]
    plant = Plant(case, result.policy, seed=seed)
    before = _vessel(case, plant, i, vessel, begins)
    after = _vessel(case, plant, i, vessel, back)
    figures = result.stages[vessel.stage.name]
    sent, washes = figures["dirty_water_kg"], figures["washes"] or 1
    return Returned(
        result=result,
        stage=vessel.stage,
        back_s=back,
        before=before,
        after=after,
        outlet=tuple(outlet.items()),
        jars=tuple((minutes, outlet.get(minutes, math.nan)) for minutes in AFTER),
        backwash_m3=_moved(log, "backwash"),
        rinse_m3=_moved(log, "rinse"),
        to_drain_kg=math.fsum(each.solids_kg or 0.0 for each in log),
        sent_on_kg=None if sent is None else sent / washes,
    )


def _moved(log: list[LogEntry], step: str) -> float:
    return math.fsum(each.volume_m3 or 0.0 for each in log if each.step == step)


def _vessel(case: Case, plant: Plant, i: int, vessel: OneVessel, time: float) -> Vessel:
    plant.run_until(time)
    line = plant.look()
    slices = tuple(each for each in slices_of(case, line) if each.stage == vessel.name)
    bed = math.fsum(each.deposit_kg_m3 * (each.bottom_m - each.top_m) for each in slices) * vessel.stage.vessel.area
    water = max(_left_over(line, vessel.stage, i, bed), line.reading(i)[2])
    return Vessel(slices=slices, bed_kg=bed, water_mg_l=water)


def _left_over(line: Line, stage: Stage, i: int, bed_kg: float) -> float:
    """What a wash left in the vessel's water [g/m3]; in service that water counts as filtered at once, so nothing."""
    grains = math.fsum(layer.depth * (1.0 - layer.porosity) for layer in stage.layers)
    volume = stage.vessel.area * (stage.vessel.height - grains) + stage.underdrain_volume
    return (line.held(i) - bed_kg * GRAMS_PER_KILOGRAM) / volume
