"""What the face of a clock shows, and when: a right clock, what it gains, jumps, and times at which it stands still.

Times are seconds on the run's own clock; a face shows seconds on the same scale, so that both agree on a right clock.
"""

import math

from sim.case.record import record
from sim.case.series.records import Run
from sim.case.trigger.records import Clock
from sim.case.units import DAY


@record
class Face:
    """`gain` [s per s that it goes]; `jumps`: when it goes ahead by how much [s]; `stops`: from when to when."""

    gain: float = 0.0
    jumps: tuple[tuple[float, float], ...] = ()
    stops: tuple[tuple[float, float], ...] = ()

    def reading(self, time: float) -> float:
        """What it shows at a time, after a jump at that time.

        Fast by 20 s a day and put forward by an hour on day 3:
        >>> Face(gain=20.0 / DAY, jumps=((3 * DAY, 3600.0),)).reading(6 * DAY) - 6 * DAY
        3720.0
        """
        return (time - self._stood(time)) * (1.0 + self.gain) + self._ahead(time)

    def latest(self, time: float) -> float:
        """The latest that it has shown before a time: an hour that it has shown comes no second time, one that it
        jumps past as it jumps."""
        at_once = {at: math.fsum(by for each, by in self.jumps if each == at) for at, _ in self.jumps}
        backs = (self.reading(at) - by for at, by in at_once.items() if by < 0.0 and at <= time)
        return max(self.reading(time) - max(at_once.get(time, 0.0), 0.0), *backs, -math.inf)

    def when(self, shown: float, after: float) -> float:
        """The first time from `after` on at which it shows this or a later one; inf where it stands for ever."""
        begin = after
        for end in (*sorted(edge for edge in self._edges() if edge > after), math.inf):
            if self.reading(begin) >= shown:
                return begin
            if not any(start <= begin < stop for start, stop in self.stops):
                time = (shown - self._ahead(begin)) / (1.0 + self.gain) + self._stood(begin)
                if time < end:
                    return max(time, begin)
            begin = end
        return math.inf

    def _edges(self) -> list[float]:
        return [at for at, _ in self.jumps] + [edge for stop in self.stops for edge in stop if edge < math.inf]

    def _ahead(self, time: float) -> float:
        return math.fsum(by for at, by in self.jumps if at <= time)

    def _stood(self, time: float) -> float:
        return math.fsum(min(end, time) - start for start, end in self.stops if start < time)


def face_of(clock: Clock, run: Run) -> Face:
    """The face of a stage's clock as far as it is known beforehand."""
    summer = run.summer if clock.daylight_saving else ()
    jumps = [jump for start, end, by in summer for jump in ((start, by), (end, -by))]
    return Face(gain=clock.drift / DAY, jumps=tuple(jumps))
