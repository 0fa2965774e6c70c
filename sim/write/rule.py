"""The one rule by which all four ways to start a wash are set: the same margin to the same limit.

A bed that was washed many times takes some volume before the first of these: its filtered water comes to its limit in
the coldest water, which a bed filters worst; its pressure drop has risen as far as is usual; it has taken up what a
regeneration restores; its longest run is over. Floc of what oxidises on the way counts among the solids. Every way
washes after MARGIN of that volume, as nearly as it can without going beyond.
"""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Literal, NamedTuple

from hydraulics.headloss import square_law_loss
from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.clean_run import CleanRun, Inflow, cells_at, inflow_of
from sim.case.stage.records import Stage
from sim.case.units import DAY, HOUR, LITRE
from sim.review.site import site_of
from sim.review.uptake import volume_restored
from sim.write.filters import RISE
from sim.write.floc import Metal, formed_of, metals_of
from sim.write.settled import left_by_washes
from sim.write.written import up_to

MARGIN = 0.8
"""Of what the bed takes: when each way is to wash. It leaves room for water worse than the mean."""

ROOM = 1.5
ROOM_BEHIND = 2.0
"""A limit that nobody gave is at least so many times what the clean bed lets through; more behind another filter,
whose water is cloudy for minutes after its wash."""

End = Literal["the limit", "a metal", "the pressure drop", "the capacity", "the longest run"]

MOST_LOAD = 1e9
"""g/m2: a run that gets so far has no end."""

ROUNDS = 5
"""What a wash leaves depends on the run and the run on what is left: each round brings them ten times closer."""

LEAST_SHARE = 0.2
"""Of the run of a new bed: a bed that is hardly washed is taken to run so long."""

LEAST_RISE, LEAST_RISE_SHARE = 5e3, 0.2
"""Pa, and share of its reading: less than both above the washed bed in the coldest water is no sign of deposit, since
a tenth more flow reads like it."""

LEAST = 1.1 * LITRE
"""m3: a case takes a litre or more, and two figures of gallons must not fall below that."""

MANY = 50
"""Runs, of which a mean is taken."""

MOST_RESERVE = 0.3
"""Of what the bed takes: the most that is kept in reserve."""

BEYOND = 0.02
"""Share by which a mean may go beyond what is meant."""


@record
class Use:
    """How one vessel of a stage is used: flow [m3/s] while water is drawn, volume on a day of most use and on a mean
    day [m3], coldest and mean temperature of the water [degC]."""

    flow: float
    a_day: float
    mean_a_day: float
    coldest: float
    temperature: float


@record
class Ending:
    """What a bed takes, washed many times, at the flow of use, with the mean feed.

    `volume` [m3] and `load` [g/m2] until `by`; `rise` [Pa] above the new bed by then. `passing` [g/m3]: what the new
    bed lets through behind clean beds; `breaks`: that is over the limit, which therefore ends no run; `broken`: the
    metals that it lets through over theirs.
    """

    by: End
    volume: float
    load: float
    rise: float
    passing: float
    breaks: bool
    broken: tuple[Metal, ...]
    arriving: "Arriving"
    run: CleanRun
    use: Use

    @property
    def hours(self) -> float:
        """How long it lasts [h of use]."""
        return self.volume / self.use.flow / HOUR

    @property
    def days(self) -> float:
        """How long it lasts [d], pauses included."""
        return self.volume / self.use.mean_a_day

    @property
    def more(self) -> tuple[float, float]:
        """What passes more than through a ripe clean bed behind clean beds [g/m3]: in the mean until the wash, and at
        worst, in the coldest water just before the wash or after it."""
        load, arriving = MARGIN * self.load, self.arriving
        fresh = cells_at(self.run.bed, self.run.rate, self.run.viscosity, load)
        held = math.fsum(cell.thickness * cell.deposit for cell in fresh)
        mean = arriving.mean * (1.0 - held / load) if load > 0.0 else arriving.mean
        clean, worst = self.passing - arriving.fine, Inflow(arriving.worst, arriving.fine)
        cold = replace(self.run, temperature=self.use.coldest)
        washed = replace(cold, stage=_unripe(self.run.stage))
        return mean - clean, max(cold.passing(worst, load), washed.passing(worst, 0.0)) - clean


@record
class Settings:
    """What starts a wash of one filter - days; m3; Pa - and the share of the bed's volume at which each washes in the
    mean. `clean`: what the gauge reads of the washed bed in the coldest water [Pa]."""

    every: int
    volume: float
    total: float
    reserve: float
    above: float
    clean: float
    every_share: float
    volume_share: float
    reserve_share: float
    above_share: float


def use_of(case: Case, k: int) -> Use:
    """The use of one vessel of filter k."""
    site, stage = site_of(case), case.stages[k]
    return Use(
        flow=site.through(stage),
        a_day=site.largest_day / stage.vessels.sharing,
        mean_a_day=site.mean_through(stage) * DAY,
        coldest=site.coldest,
        temperature=site.mean_temperature,
    )


class Arriving(NamedTuple):
    """Filterable solids at a filter [g/m3]: behind clean beds, behind beds used by the rule in the mean and at worst;
    and the fine ones that pass every bed."""

    clean: float
    mean: float
    worst: float
    fine: float

    @property
    def behind_clean(self) -> Inflow:
        """What comes through clean beds."""
        return Inflow(self.clean, self.fine)


def arriving_at(case: Case, k: int, behind: "Ending | None") -> Arriving:
    """The mean feed at filter k, behind the filter before it."""
    site = site_of(case)
    clean, fine = inflow_of(
        case.stages, k, case.feed, flow=site.peak, temperature=site.mean_temperature, formed=formed_of(case)
    )
    mean, worst = (0.0, 0.0) if behind is None else behind.more
    return Arriving(clean, clean + mean, clean + worst, fine)


def passing_of(case: Case, k: int, arriving: Arriving) -> float:
    """The most that the clean and ripe bed of filter k lets through of the mean feed [g/m3]: in the coldest water,
    behind beds at the end of their runs."""
    use = use_of(case, k)
    run = CleanRun(stage=case.stages[k], flow=use.flow, temperature=use.coldest)
    return run.passing(Inflow(arriving.worst, arriving.fine), 0.0) + arriving.fine


def endings_of(case: Case) -> list[Ending]:
    """What ends the runs of each filter, and when."""
    endings: list[Ending] = []
    for k in range(len(case.stages)):
        arriving = arriving_at(case, k, endings[-1] if endings else None)
        endings.append(ending_of(case, k, arriving, case.stages[k].limit))
    return endings


def ending_of(case: Case, k: int, arriving: Arriving, limit: float | None) -> Ending:
    """What ends the runs of filter k under a limit [g/m3]."""
    stage, use = case.stages[k], use_of(case, k)
    new = CleanRun(stage=stage, flow=use.flow, temperature=use.temperature)
    judged, metals = _judged(new, use, arriving, limit), metals_of(case, k)
    kept = {each: _judged(new, use, arriving, each.solids) for each in metals}
    assert stage.longest_run is not None, "every case that comes here has one"
    longest = stage.longest_run / DAY * use.mean_a_day
    spent = volume_restored(site_of(case), k)
    spent = math.inf if spent is None else spent
    clean = new.pressure_drop(0.0)  # a rise is what a load and the deposit left before add to it [Pa]
    longest_load, spent_load = (each * arriving.mean / stage.vessel.area for each in (longest, spent))
    run, least = new, 0.0
    for _ in range(ROUNDS):
        at_limit = max(_load_at_limit(run, judged, limit), least)
        of_metals = [_load_at_limit(run, judged_so, each.solids) for each, judged_so in kept.items()]
        at_metal = max(min(of_metals, default=math.inf), least)
        at_rise = max(_crossing(lambda load: run.pressure_drop(load) - clean - RISE.typical), least)  # noqa: B023
        load = min(at_limit, at_metal, at_rise, spent_load, longest_load)
        least = least or LEAST_SHARE * load
        left = left_by_washes(case, run, MARGIN * load)
        run = replace(new, left=left)
    ends: tuple[tuple[float, End, float | None], ...] = (
        (longest_load, "the longest run", longest), (spent_load, "the capacity", spent),
        (at_limit, "the limit", None), (at_metal, "a metal", None), (at_rise, "the pressure drop", None),
    )  # fmt: skip
    by, volume = next((by, volume) for at, by, volume in ends if load == at)
    return Ending(
        by=by,
        volume=load * stage.vessel.area / arriving.mean if volume is None else volume,
        load=load,
        rise=run.pressure_drop(load) - clean,
        passing=new.passing(arriving.behind_clean, 0.0) + arriving.fine,
        breaks=limit is not None and judged is None,
        broken=tuple(each for each, judged_so in kept.items() if judged_so is None),
        arriving=arriving,
        run=run,
        use=use,
    )


def _unripe(stage: Stage) -> Stage:
    """The stage as it returns from a wash."""
    share = 1.0 if stage.ripening is None else 1.0 - stage.ripening.share
    layers = (
        replace(layer, filter_coefficients=tuple(share * each for each in layer.filter_coefficients))
        for layer in stage.layers
    )
    return replace(stage, layers=tuple(layers))


class Judged(NamedTuple):
    """What arrives when the filtered water is held against its limit, and the temperature of the water [degC]."""

    inflow: Inflow
    temperature: float


def _judged(new: CleanRun, use: Use, arriving: Arriving, limit: float | None) -> Judged | None:
    """The worst with which the clean bed keeps the limit; None if it never does or has none."""
    for temperature in (use.coldest, use.temperature):
        for filterable in (arriving.worst, arriving.mean, arriving.clean):
            judged = Judged(Inflow(filterable, arriving.fine), temperature)
            if limit is not None and _passing(new, judged, 0.0) < limit:
                return judged
    return None


def _passing(run: CleanRun, judged: Judged, load: float) -> float:
    """All solids that pass [g/m3] once a load [g/m2] has reached the stage."""
    return replace(run, temperature=judged.temperature).passing(judged.inflow, load) + judged.inflow.fine


def settings_of(ending: Ending) -> Settings:
    """Each way set so that it washes after MARGIN of what the bed takes, as nearly as it can."""
    use, run = ending.use, ending.run
    at = MARGIN * ending.volume
    every = max(int(MARGIN * ending.days + 1e-9), 1)
    reserve = min(1.1 * use.a_day, MOST_RESERVE * ending.volume)
    total = _total(at, reserve, use.a_day)
    clean = _reading(replace(run, temperature=use.coldest), 0.0)
    above = max(_reading(run, MARGIN * ending.load), clean + max(LEAST_RISE, LEAST_RISE_SHARE * clean))
    total, reserve = max(up_to(total, 3), 3.0 * LEAST), max(up_to(reserve), LEAST)
    return Settings(
        every=every,
        volume=max(up_to(at, 3), LEAST),
        total=total,
        reserve=reserve,
        above=above,
        clean=clean,
        every_share=every / ending.days,
        volume_share=max(at, LEAST) / ending.volume,
        reserve_share=_washes_at(total, reserve, use.a_day) / ending.volume,
        above_share=_crossing(lambda load: _reading(run, load) - above) / ending.load if ending.load else math.inf,
    )


def _total(at: float, reserve: float, a_day: float) -> float:
    """The volume [m3] with which a reserve washes at some volume in the mean of unlike days, and not beyond it where
    days are all alike: then its wash falls on whole days as a calendar's does."""
    total = at + reserve - _waiting(reserve, a_day)
    while (beyond := _washes_at(total, reserve, a_day) - at) > BEYOND * at:
        total -= beyond
    return total


def _waiting(reserve: float, a_day: float) -> float:
    """Mean volume [m3] that passes between the moment only the reserve is left and the wash: up to the hour of the
    wash, at any moment of a day alike, or all the reserve where that runs out before."""
    least = min(reserve, a_day)
    return least - 0.5 * least * least / a_day


def _washes_at(total: float, reserve: float, a_day: float) -> float:
    """Mean volume [m3] at which a reserve washes where days are all alike: then it comes at the end of one of them,
    or within one where all is spent before."""
    volumes, left = [], a_day
    for _ in range(MANY):
        volume = 0.0
        while volume < total - reserve:
            step = min(left, total - volume)
            volume, left = volume + step, left - step or a_day
        volumes.append(volume)
    return math.fsum(volumes) / MANY


def _reading(run: CleanRun, load: float) -> float:
    """What the gauge reads [Pa]."""
    laws = run.stage.head_loss
    return run.pressure_drop(load) + (square_law_loss(laws.valve_constant, run.flow) if laws.tap == "vessel" else 0.0)


def _load_at_limit(run: CleanRun, judged: Judged | None, limit: float | None) -> float:
    """Load [g/m2] at which the filtered water comes to the limit; infinite if never, or if no run is without it."""
    if limit is None or judged is None:
        return math.inf
    return _crossing(lambda load: _passing(run, judged, load) - limit)


def _crossing(excess: Callable[[float], float]) -> float:
    """Where a function that rises comes to 0, to 1e-4; 0 if it is there at once, infinite where it stays below."""
    from scipy.optimize import brentq

    low, high = 0.0, 1.0
    while excess(high) < 0.0:
        low, high = high, 4.0 * high
        if high > MOST_LOAD:
            return math.inf
    if low == 0.0 and excess(0.0) >= 0.0:
        return 0.0
    return float(brentq(excess, low, high, rtol=1e-4))
