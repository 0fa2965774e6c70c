"""What the figures of a stage show: its course through time, its filter runs, the deposit in its bed."""

import math
from collections.abc import Sequence
from datetime import datetime
from typing import NamedTuple

import pandas as pd

from plots.inputs import Bed, Course, Measure, RunBars
from plots.words import label, term
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.units import DAY, GRAMS_PER_KILOGRAM, PA_PER_KPA
from sim.plant.records import Cause, FilterRun, RunResult
from sim.plant.simulate import Plant
from sim.plant.trace import Moment, Slice, UsedSlice, bed_sections, moment_of
from sim.plant.triggers import pressure_set
from sim.study.moments import moment
from sim.study.single import place_of, triggers_of
from sim.study.vessels import OneVessel, vessels, vessels_of
from sim.study.weeks import WEEK, Week
from sim.tell.present import UNITS, DisplayUnit, converted, solids_unit
from sim.tell.run.dissolved import followed
from sim.tell.sentences import CUT_SHORT, cause_words

SAMPLES = 672  # through the window: one an hour in four weeks
BEFORE, AFTER = 2.0 * WEEK, WEEK  # of the window, around the worst week
JUST_AFTER = 1.0  # s into a wash: there the curves break off
AFTER_RETURN = (60.0, 240.0, 900.0)  # s after a return to service, while the outlet settles
HOURS_A_DAY, PERCENT = 24.0, 100.0
LEAST_SHOWN = 0.01  # %: with no more of its capacity used anywhere nothing is drawn of that
SHORT_RUNS = 3.0  # days: filter runs all shorter than this are shown in hours


class Window(NamedTuple):
    """The stretch of time that is drawn [s]."""

    start_s: float
    end_s: float


def window_around(week: Week, length: float) -> Window:
    """Four weeks of which this one is the third, shifted into the run; the whole run if it is no longer."""
    whole = BEFORE + WEEK + AFTER
    end = min(max(week.start_s + WEEK + AFTER, whole), length)
    return Window(max(end - whole, 0.0), end)


def courses(case: Case, result: RunResult, window: Window, system: System) -> tuple[Course, ...]:
    """Pressure drop and filtered solids of every vessel under one policy, from one more run of it."""
    extras = {each.name: _extra_times(each.runs(result), window) for each in vessels(case)}
    step = (window.end_s - window.start_s) / SAMPLES
    grid = {window.start_s + (place + 0.5) * step for place in range(SAMPLES)}
    times = sorted(grid.union(*extras.values()))
    plant = Plant(case, result.policy, seed=result.seed, replicate=result.replicate)
    plant.run_until(window.start_s)
    before = _over_so_far(case, plant.result())
    looks = []
    for time in times:
        plant.run_until(time)
        looks.append(moment_of(case, plant.look()))
    plant.run_until(window.end_s)
    inside, whole = _over_so_far(case, plant.result()), _over_so_far(case, result)
    over = {name: (max(inside[name] - before[name], 0.0), hours) for name, hours in whole.items()}
    return tuple(
        _course(
            case, result, place, window, system, over=over[each.name],
            looks=[look for look in looks if look.train.time_s in grid | extras[each.name]],
        )
        for place, each in enumerate(vessels(case))
    )  # fmt: skip


def _over_so_far(case: Case, result: RunResult) -> dict[str, float]:
    """Hours over the limit of each vessel."""
    return {each.name: math.fsum(run.over_limit_h for run in each.runs(result)) for each in vessels(case)}


def _extra_times(runs: Sequence[FilterRun], window: Window) -> set[float]:
    """Moments between the regular ones at which the curves of a vessel with these filter runs turn."""
    times: set[float] = set()
    for run in runs:
        times |= {run.end_s, run.end_s + JUST_AFTER}
        times |= {run.start_s + after for after in AFTER_RETURN if run.start_s + after < run.end_s}
    return {time for time in times if window.start_s < time < window.end_s}


def _course(
    case: Case, result: RunResult, place: int, window: Window, system: System, *,
    looks: Sequence[Moment], over: tuple[float, float],
) -> Course:  # fmt: skip
    pressure, solids = UNITS[system]["pressure"], solids_unit(case.feed.turbidity_ratio, system)
    vessel, samples = vessels(case)[place], [look.vessels[place] for look in looks]
    start, stage = case.run.start, vessel.stage
    serving = [sample.phase == "service" and sample.flow_m3_h > 0.0 for sample in samples]
    table = pd.DataFrame({"time": [moment(start, sample.time_s) for sample in samples]})
    table["pressure"] = [(s.signal_kpa - s.spike_kpa) * pressure.per_result_unit for s in samples]
    table["solids"] = [s.outlet_mg_l * solids.per_result_unit for s in samples]
    table.loc[[not each for each in serving], ["pressure", "solids"]] = math.nan
    dissolved, sent = followed(case, stage), [look.stages[case.stages.index(stage)] for look in looks]
    for each in dissolved:
        table[each.words] = [each.of(at) * each.unit(system).per_result_unit for at in sent]
    above = pressure_set(triggers_of(case, result.policy)[stage.name]) / PA_PER_KPA
    return Course(
        policy=result.policy,
        place=place_of(case, result.policy),
        stage=vessel.name,
        table=table,
        pressure=Measure(label("measure.pressure"), pressure.symbol),
        solids=filtered(solids),
        set_point=converted(above if above < math.inf else None, pressure),
        limit=converted(stage.limit, solids),
        washes=tuple(
            moment(start, run.end_s)
            for run in vessel.runs(result)
            if run.cause is not None and window.start_s <= run.end_s <= window.end_s
        ),
        days=((window.end_s - window.start_s) / DAY, case.run.length / DAY),
        over_h=over,
        dissolved=tuple(each.measure(system) for each in dissolved),
    )


def filtered(unit: DisplayUnit) -> Measure:
    """Filtered water, as the case speaks of its solids."""
    turbid = unit.symbol == "NTU"
    return Measure(label("measure.filtered_turbidity") if turbid else label("measure.filtered_solids"), unit.symbol)


def run_bars(case: Case, results: Sequence[RunResult], vessel: OneVessel) -> RunBars:
    """Every filter run of a vessel under these policies."""
    rows = [(each.policy, run) for each in results for run in vessel.runs(each)]
    in_hours = all(run.end_s - run.start_s < SHORT_RUNS * DAY for _, run in rows)
    unit, an_hour = ("h", 1.0) if in_hours else ("d", 1.0 / HOURS_A_DAY)
    table = pd.DataFrame(
        {
            "policy": [policy for policy, _ in rows],
            "start": [moment(case.run.start, run.start_s) for _, run in rows],
            "end": [moment(case.run.start, run.end_s) for _, run in rows],
            "cause": [cause_words(run) for _, run in rows],
            "length": [(run.end_s - run.start_s) / DAY * HOURS_A_DAY * an_hour for _, run in rows],
            "over": [run.over_limit_h * an_hour if vessel.stage.limit is not None else math.nan for _, run in rows],
        }
    )
    return RunBars(
        stage=vessel.name,
        policies=tuple(each.policy for each in results),
        causes=tuple(term("cause", each) for each in (*Cause, CUT_SHORT)),
        table=table,
        length=Measure(label("measure.run_length"), unit),
    )


Sections = dict[float, tuple[tuple[Slice, ...], tuple[UsedSlice, ...]]]  # by the moment [s]


def beds(case: Case, results: Sequence[RunResult], system: System) -> tuple[Bed, ...]:
    """The deposit in every stage's bed at the end of the filter run that brought it most, for each of these policies,
    and what is used of its capacity for what is dissolved; from one more run of each policy."""
    found = {each.policy: _sections(case, each) for each in results}
    return tuple(_bed(case, results, stage, found, system) for stage in case.stages)


def _sections(case: Case, result: RunResult) -> Sections:
    times = sorted({fullest_run(result, stage.name).end_s for stage in case.stages})
    looked = bed_sections(case, result.policy, times=times, seed=result.seed, replicate=result.replicate)
    return dict(zip(times, looked, strict=True))


def _bed(
    case: Case, results: Sequence[RunResult], stage: Stage, found: dict[str, Sections], system: System
) -> Bed:
    depth, deposit = UNITS[system]["length"], UNITS[system]["deposit"]
    ends: dict[str, datetime] = {}
    rows, used = list[tuple[str, float, float, float]](), list[tuple[str, float, float, float]]()
    for result in results:
        run = fullest_run(result, stage.name)
        vessel, ends[result.policy] = vessels_of(stage)[run.vessel - 1].name, moment(case.run.start, run.end_s)
        deposits, shares = found[result.policy][run.end_s]
        rows += [
            (result.policy, each.top_m * depth.per_result_unit, each.bottom_m * depth.per_result_unit,
             each.deposit_kg_m3 * deposit.per_result_unit)
            for each in deposits
            if each.stage == vessel
        ]  # fmt: skip
        used += [
            (result.policy, each.top_m * depth.per_result_unit, each.bottom_m * depth.per_result_unit,
             PERCENT * each.share)
            for each in shares
            if each.stage == vessel
        ]  # fmt: skip
    slices = pd.DataFrame(rows, columns=["policy", "top", "bottom", "deposit"])
    held = (slices["deposit"] * (slices["bottom"] - slices["top"])).groupby(slices["policy"]).sum()
    return Bed(
        stage=stage.name,
        layers=_layers(stage, depth.per_result_unit, deposit.per_result_unit),
        slices=slices,
        depth=Measure(label("measure.depth"), depth.symbol),
        deposit=Measure(label("measure.deposit"), deposit.symbol),
        holds=max(layer.ultimate_deposit for layer in stage.layers) / GRAMS_PER_KILOGRAM * deposit.per_result_unit,
        shown=max(ends, key=lambda policy: held[policy]),
        ends=ends,
        places={policy: place_of(case, policy) for policy in ends},
        used=pd.DataFrame(used, columns=["policy", "top", "bottom", "used"])
        if any(share > LEAST_SHOWN for *_, share in used) else None,
    )  # fmt: skip


def fullest_run(result: RunResult, stage: str) -> FilterRun:
    """The filter run that brought a stage's bed the most solids, of those that ended with a wash if there are any."""
    runs = [run for run in result.runs if run.stage == stage]
    return max([run for run in runs if run.cause is not None] or runs, key=lambda run: run.load_g_m2)


def _layers(stage: Stage, depths: float, deposits: float) -> pd.DataFrame:
    bottoms = pd.Series([layer.depth for layer in stage.layers]).cumsum() * depths
    known = stage.sloughing is None  # with sloughing the most moves with the rate
    most = [layer.ultimate_deposit / GRAMS_PER_KILOGRAM * deposits for layer in stage.layers]
    return pd.DataFrame(
        {
            "medium": [term("medium", layer.medium) for layer in stage.layers],
            "top": bottoms.shift(fill_value=0.0),
            "bottom": bottoms,
            "most": most if known else math.nan,
        }
    )
