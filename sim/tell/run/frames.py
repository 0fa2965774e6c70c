"""A stretch of one run as moments to be drawn one after the other: the beds, their signals, the feed and the tank."""

import math
from collections.abc import Iterator, Sequence
from statistics import fmean
from typing import Any

from plots.inputs import THOUSANDTHS, BedFrames, Frames, FrameWash, Measure, Signal
from plots.words import Moment, Name, dated, label, term
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.units import DAY, GRAMS_PER_KILOGRAM, HOUR, PA_PER_KPA
from sim.plant.records import Cause, LogEntry, RunResult
from sim.plant.simulate import Plant
from sim.plant.trace import Slice, moment_of, slices_of
from sim.plant.triggers import pressure_set
from sim.study.moments import moment
from sim.study.single import triggers_of
from sim.study.vessel_past import role
from sim.study.vessels import OneVessel, vessels
from sim.study.weeks import Week
from sim.tell.present import UNITS, DisplayUnit, converted, solids_unit
from sim.tell.run.samples import AFTER_RETURN, JUST_AFTER, Window, filtered
from sim.tell.run.week_view import WAIT, StepSpan, wash_steps

LENGTH = 14.0 * DAY
GRID = 168  # moments through it, beside those at which something happens
MOST = 480
BANDS = 12  # of a bed
FIGURES, DIGITS = 4, 5  # significant ones of a signal, those after the point of an hour


def stretch_around(week: Week, length: float) -> Window:
    """Two weeks with this one in their middle, shifted into the run; the whole run if it is no longer [s]."""
    end = min(max((week.start_s + week.end_s + LENGTH) / 2.0, LENGTH), length)
    return Window(max(end - LENGTH, 0.0), end)


def frames(case: Case, result: RunResult, window: Window, system: System) -> Frames:
    """The moments of one way to start a wash, from one more run of it."""
    washes = tuple(_washes(case, result, window))
    plant = Plant(case, result.policy, seed=result.seed, replicate=result.replicate)
    looks, beds = [], []
    times = _times(washes, window)
    for time in times:
        plant.run_until(time)
        line = plant.look()
        looks.append(moment_of(case, line))
        beds.append(slices_of(case, line))
    solids, volume, pressure = (
        solids_unit(case.feed.turbidity_ratio, system), UNITS[system]["volume"], UNITS[system]["pressure"],
    )  # fmt: skip
    tank = case.downstream.unit.tank if case.downstream and case.downstream.unit else None
    first = [place for place, each in enumerate(vessels(case)) if each.stage is case.stages[0]]
    moments = [moment(case.run.start, time) for time in times]
    return Frames(
        way=result.policy,
        t=tuple(_hours(time, window) for time in times),
        clock=tuple(dated(each, "moment") for each in moments),
        days=tuple(_days(case, window)),
        feed=_signal([_known(look.vessels[place].inlet_mg_l for place in first) for look in looks], solids),
        level=_signal([look.train.level_m3 for look in looks], volume) if tank else None,
        full=converted(tank.stop_above, volume) if tank else None,
        beds=tuple(
            _bed(case, result, each, [look.vessels[place] for look in looks],
                 [[cell for cell in bed if cell.stage == each.name] for bed in beds], system)
            for place, each in enumerate(vessels(case))
        ),
        washes=washes,
        title=label("frames.title", way=Name(result.policy), start=dated(moments[0], "day"),
                    end=dated(moments[-1], "day")),
        words={
            "feed": Measure(label("frames.feed"), solids.symbol).label,
            "pressure": Measure(label("measure.pressure"), pressure.symbol).label,
            "outlet": filtered(solids).label,
            "level": Measure(label("measure.level"), volume.symbol).label,
            "service": label("frames.service"),
            "earlier": label("frames.earlier"),
            "tank": label("frames.tank"),
            "scale": label("frames.scale"),
            "limit": label("figure.limit"),
            "set_point": label("figure.set_point"),
            "full": label("frames.full"),
            "wash": label("frames.in_wash"),
        },
    )  # fmt: skip


def _hours(time: float, window: Window) -> float:
    return round((time - window.start_s) / HOUR, DIGITS)


def _days(case: Case, window: Window) -> Iterator[tuple[float, Moment]]:
    """Midnights, by their dates."""
    begin = moment(case.run.start, window.start_s)
    first = (begin.replace(hour=0, minute=0, second=0) - begin).total_seconds() % DAY
    for place in range(int((window.end_s - window.start_s - first) // DAY) + 1):
        time = window.start_s + first + place * DAY
        yield _hours(time, window), dated(moment(case.run.start, time), "day")


def _washes(case: Case, result: RunResult, window: Window) -> Iterator[FrameWash]:
    """Those that are over and reach into the window, in the order of their ends."""
    steps, open_ = wash_steps(case, result), dict[str, LogEntry]()
    names = [each.name for each in vessels(case)]
    for entry in result.log:
        match role(entry.event):
            case "begins":
                open_.setdefault(entry.who, entry)
            case "over" if entry.who in open_:
                begun = open_.pop(entry.who)
                if entry.time_s > window.start_s and begun.time_s < window.end_s:
                    mine = [each for each in steps if each.who == entry.who
                            and begun.time_s <= each.start_s and each.end_s <= entry.time_s]  # fmt: skip
                    yield _wash(names.index(entry.who), begun, entry, mine, window)
            case _:
                pass


def _wash(bed: int, begun: LogEntry, over: LogEntry, steps: Sequence[StepSpan], window: Window) -> FrameWash:
    return FrameWash(
        bed=bed, start=_hours(begun.time_s, window), end=_hours(over.time_s, window),
        why=term("cause" if isinstance(begun.why, Cause) else "why", begun.why.value),
        steps=tuple((label("frames.waits") if each.step == WAIT else term("step", each.step),
                     _hours(each.start_s, window), _hours(each.end_s, window)) for each in steps),
    )  # fmt: skip


def _times(washes: Sequence[FrameWash], window: Window) -> list[float]:
    """When to look [s]: regularly, around every step of a wash, and while a bed just washed settles."""
    start, end = window
    times = {start + place * (end - start) / GRID for place in range(GRID + 1)}
    for wash in washes:
        first, last = (start + each * HOUR for each in (wash.start, wash.end))
        ends = {start + over * HOUR for _, _, over in wash.steps}
        times |= {first, first + JUST_AFTER, *ends, *(last + after for after in (JUST_AFTER, *AFTER_RETURN))}
    chosen = sorted({start + _hours(time, window) * HOUR for time in times if start <= time <= end})
    return sorted({*chosen[:: -(-len(chosen) // MOST)], chosen[-1]})


def _bed(
    case: Case, result: RunResult, vessel: OneVessel, samples: Sequence[Any], slices: Sequence[Sequence[Slice]],
    system: System,
) -> BedFrames:  # fmt: skip
    stage, depth = vessel.stage, UNITS[system]["length"].per_result_unit
    solids, pressure = solids_unit(case.feed.turbidity_ratio, system), UNITS[system]["pressure"]
    holds = max(layer.ultimate_deposit for layer in stage.layers) / GRAMS_PER_KILOGRAM
    group = max(len(slices[0]) // BANDS, 1)
    bands = [
        (first, min(first + group, (number + 1) * stage.cells_per_layer))
        for number in range(len(stage.layers))
        for first in range(number * stage.cells_per_layer, (number + 1) * stage.cells_per_layer, group)
    ]
    floors = [max(cell.bottom_m for cell in slices[0] if cell.layer == place) for place in range(len(stage.layers))]
    above = pressure_set(triggers_of(case, result.policy)[stage.name]) / PA_PER_KPA
    serving = [each.phase == "service" and each.flow_m3_h > 0.0 for each in samples]
    return BedFrames(
        name=vessel.name,
        judged=stage is case.judged,
        media=tuple((term("medium", layer.medium), _short(floor * depth))
                    for layer, floor in zip(stage.layers, floors, strict=True)),
        bottoms=tuple(_short(slices[0][last - 1].bottom_m * depth) for _, last in bands),
        holds=_short(holds * UNITS[system]["deposit"].per_result_unit),
        deposit=tuple(
            tuple(round(THOUSANDTHS / holds * fmean(cell.deposit_kg_m3 for cell in bed[first:last]))
                  for first, last in bands)
            for bed in slices
        ),
        pressure=_signal([each.signal_kpa - each.spike_kpa if there else math.nan
                          for each, there in zip(samples, serving, strict=True)], pressure),
        outlet=_signal([each.outlet_mg_l if there else math.nan
                        for each, there in zip(samples, serving, strict=True)], solids),
        set_point=None if above == math.inf else _short(above * pressure.per_result_unit),
        limit=None if stage.limit is None else _short(stage.limit * solids.per_result_unit),
    )  # fmt: skip


def _known(values: Iterator[float]) -> float:
    return next((value for value in values if not math.isnan(value)), math.nan)


def _signal(values: Sequence[float], unit: DisplayUnit) -> Signal:
    return tuple(None if math.isnan(value) else _short(value * unit.per_result_unit) for value in values)


def _short(value: float) -> float:
    return float(f"{value:.{FIGURES}g}")
