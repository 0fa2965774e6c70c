"""The clock of a stage's controller while the plant runs: what it shows, and when the hours come that it shows."""

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date, timedelta

from sim.case.series.records import Run
from sim.case.stage.records import Stage
from sim.case.trigger.face import face_of
from sim.plant.clock import DAY, DAYS_OF_ROUNDING, last_time_of_day, next_time_of_day

Fits = Callable[[int], bool]
MOST_DAYS = 4000  # looked through for an hour on a day that fits


class StageClock:
    """Times are seconds of the run, what it shows as well; days are counted from the one in which the run starts."""

    def __init__(self, stage: Stage, run: Run) -> None:
        self._face = face_of(stage.clock, run)
        self.keeps_time = stage.clock.keeps_time
        self._first = run.start.date()
        midnight = run.start.replace(hour=0, minute=0, second=0, microsecond=0)
        self.midnight = (midnight - run.start) / timedelta(seconds=1)

    def reading(self, time: float) -> float:
        """What it shows at a time [s]."""
        return self._face.reading(time)

    def when(self, shown: float, after: float) -> float:
        """The first time from `after` on at which it shows this or a later one [s]."""
        return self._face.when(shown, after)

    def day(self, shown: float) -> int:
        """The day of what it shows, 0 for that in which the run starts."""
        return math.floor((shown - self.midnight) / DAY + DAYS_OF_ROUNDING)

    def date(self, day: int) -> date:
        """The date of a day that it shows."""
        return self._first + timedelta(days=day)

    def next_slot(
        self, now: float, hours: Iterable[float], *, since: float = -math.inf, fits: Fits | None = None
    ) -> float:
        """The first of these times of day, as it shows them [s], that it has not shown before `now`, nor is to before
        it shows `since`, on a day that fits; inf if there is none."""
        shown, hours = max(self._face.latest(now), since), tuple(hours)
        for _ in range(MOST_DAYS):
            slot = min(next_time_of_day(shown, at, self.midnight) for at in hours)
            if fits is None or fits(self.day(slot)):
                return slot
            shown = slot + 1.0
        return math.inf

    def next_hour(
        self, now: float, hours: Iterable[float], *, since: float = -math.inf, fits: Fits | None = None
    ) -> float:
        """When the next slot comes [s], see there; one that it leaves out comes as it jumps past."""
        return self.when(self.next_slot(now, hours, since=since, fits=fits), now)

    def last_hour(self, now: float, at: float, until: float) -> float:
        """When it first shows the last such time of day that it shows up to a time `until`, from now on; -inf where
        that has come before."""
        slot = last_time_of_day(max(self.reading(until), self._face.latest(until)), at, self.midnight)
        return -math.inf if slot <= self._face.latest(now) else self.when(slot, now)

    def add(self, time: float, seconds: float) -> None:
        """Set it forward, or back, at a time."""
        self._face = replace(self._face, jumps=tuple(sorted((*self._face.jumps, (time, seconds)))))

    def stop(self, time: float) -> None:
        """It stands still from a time on, as one that keeps no time in a power cut."""
        self._face = replace(self._face, stops=(*self._face.stops, (time, math.inf)))

    def go(self, time: float) -> None:
        """It goes on from where it stands."""
        *before, (since, _) = self._face.stops
        self._face = replace(self._face, stops=(*before, (since, time)))
