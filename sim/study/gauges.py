"""What the gauges of a plant show as a run goes on: around each wash, a day after it, in its rinse, each night."""

import math
from bisect import bisect_right
from collections.abc import Mapping
from datetime import datetime, time, timedelta

from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.units import DAY
from sim.plant.line import Line
from sim.plant.recorder import Beginning
from sim.plant.records import RunResult
from sim.plant.simulate import Plant
from sim.wash.clean_bed import clean_loss
from sim.weather import build_forcing

LOOKS = 15.0  # s between two looks at a rinse
FRIDAY = 4


@record
class Shown:
    """Readings of one stage, in the order in which its washes come; pressure drops [Pa] at one flow.

    As each wash starts: of the bed as its run began, and now; what the wash before had `left` of that; the rise in
    the day after a wash. `clear`: how long each last rinse took to keep the limit [s], inf: longer than it is.
    """

    clean: list[float]
    before: list[float]
    left: list[float]
    rise: list[float]
    clear: list[float]


@record
class Gauges:
    """A run, what its gauges showed by stage, and what went to service in each working day [m3]."""

    result: RunResult
    shown: Mapping[str, Shown]
    metered: list[float]


def gauges(
    case: Case, policy: str, flows: Mapping[str, float], *, seed: int, replicate: int = 0, rinses: bool = True
) -> Gauges:
    """Run a case, its gauges read at a flow by stage [m3/s]; without its `rinses` they are not watched."""
    return _Watch(case, policy, flows, seed, replicate, rinses).gauges()


class _Watch:
    def __init__(
        self, case: Case, policy: str, flows: Mapping[str, float], seed: int, replicate: int, rinses: bool
    ) -> None:
        self.case, self.flows, self.rinses = case, flows, rinses
        self.plant = Plant(case, policy, seed=seed, replicate=replicate)
        self.water = build_forcing(case.run, case.feed, case.demand, seed=seed, replicate=replicate)
        self.shown = {each.name: Shown(clean=[], before=[], left=[], rise=[], clear=[]) for each in case.stages}
        self.washes: list[int] = [0] * len(self.plant.look().names)

    def gauges(self) -> Gauges:
        start, length = self.case.run.start, self.case.run.length
        first = (datetime.combine(start.date() + timedelta(days=1), time()) - start).total_seconds()
        nights = [first + day * DAY for day in range(math.floor((length - first) / DAY) + 1)]
        totals: list[float] = []
        self.plant.visit(nights, lambda _, line: totals.append(float(line.control.delivered_total)))
        self.plant.listen(self.hear)
        self.plant.run_until(length)
        if len(totals) < len(nights):  # the run ends at midnight
            totals.append(float(self.plant.look().control.delivered_total))
        closed = {*self.case.demand.closed, *self.case.washing.closed_days}
        days = [start.date() + timedelta(days=1 + number) for number in range(len(totals))]
        worked = [later - before for day, before, later in zip(days, totals, totals[1:], strict=False)
                  if day.weekday() <= FRIDAY and day not in closed and day.weekday() not in closed]  # fmt: skip
        return Gauges(result=self.plant.result(), shown=self.shown, metered=worked)

    def hear(self, what: Beginning, i: int, line: Line) -> None:
        stage = self.case.stages[line.places[i][0]]
        shown, flow = self.shown[stage.name], self.flows[stage.name]
        if what == "wash":
            clean, now = line.reading_at(i, flow)
            shown.clean.append(clean)
            shown.before.append(now)
            if self.washes[i]:
                shown.left.append(clean - clean_loss(stage, flow, self.temperature(line.time)))
            self.washes[i] += 1
        elif what == "run":
            washes = self.washes[i]

            def a_day_later(_: int, line: Line) -> None:
                if self.washes[i] == washes:
                    then, now = line.reading_at(i, flow)
                    shown.rise.append(now - then)

            self.plant.visit([line.time + DAY], a_day_later)
        elif self.rinses and stage.limit is not None and line.under_way[i] == _last_rinse(stage):
            self.look_in(stage, stage.limit, i, line.time, LOOKS)

    def look_in(self, stage: Stage, limit: float, i: int, begun: float, after: float) -> None:
        """Look into a rinse that has begun so long after, and on until its water keeps the limit."""
        shown, end = self.shown[stage.name], stage.steps[_last_rinse(stage)].seconds - 1.0

        def look(_: int, line: Line) -> None:
            reading = line.reading(i)
            if line.phase(i) != "rinse":  # broken off
                return
            if reading[0] > 0.0 and reading[3] <= limit:
                shown.clear.append(after)
            elif after < end:
                self.look_in(stage, limit, i, begun, min(after + LOOKS, end))
            else:
                shown.clear.append(math.inf)

        self.plant.visit([begun + min(after, end)], look)

    def temperature(self, time: float) -> float:
        return float(self.water.temperature[min(bisect_right(self.water.end, time), len(self.water.end) - 1)])


def _last_rinse(stage: Stage) -> int:
    """The place of the last rinse of a wash; -1 without any."""
    return max((place for place, step in enumerate(stage.steps) if step.do == "rinse"), default=-1)
