"""Keeps what happened: the log, one record per filter run, and the times off line. Never changes the plant."""

import math

from sim.case.records import Case, Step
from sim.plant.line import Line
from sim.plant.records import Cause, FilterRun, LogEntry, Why

HOUR, KILO = 3600.0, 1000.0


class Recorder:
    """The written memory of one run; all times in seconds from its start."""

    def __init__(self, case: Case, line: Line) -> None:
        self._line = line
        self._names = [stage.name for stage in case.stages]
        self.log: list[LogEntry] = []
        self.runs: list[FilterRun] = []
        self.off_line = [0.0] * len(self._names)
        self.peak_drain = [0.0] * len(self._names)
        self.washes = [0] * len(self._names)
        self._since: list[float] = [0.0] * len(self._names)
        self._drained = [(0.0, 0.0)] * len(self._names)
        self._washing: set[int] = set()

    def note(self, time: float, k: int, what: str, why: Why) -> None:
        """One line of the log."""
        self.log.append(LogEntry(time, self._names[k], what, why.value))

    def end_run(self, time: float, k: int, cause: Cause, pressure_set: float) -> None:
        """A filter run ends because its wash starts."""
        run = self._run(self._line, time, k, cause, pressure_set)
        self.runs.append(run)
        self.log.append(LogEntry(time, run.stage, "wash starts", cause.value, run.volume_m3))
        if run.blocked:
            self.log.append(LogEntry(time, run.stage, "bed was blocked", Why.FLOOR.value))
        self._since[k] = time
        self._washing.add(k)

    def end_step(self, time: float, k: int, step: Step, flow: float, drained: tuple[float, float]) -> None:
        """A step of a wash ends that ran at a flow [m3/s]; `drained`: all m3 and g that went to drain so far."""
        before, self._drained[k] = self._drained[k], drained
        self.peak_drain[k] = max(self.peak_drain[k], flow)
        gone = (drained[0] - before[0], (drained[1] - before[1]) / KILO)
        self.log.append(LogEntry(time, self._names[k], f"{step.do} ends", Why.TIME.value, *gone))

    def begin_run(self, time: float, k: int) -> None:
        """A filter run begins: the wash is over."""
        self.off_line[k] += time - self._since[k]
        self.washes[k] += 1
        self._since[k] = time
        self._washing.discard(k)
        self.log.append(LogEntry(time, self._names[k], "back in service", Why.TIME.value))

    def unfinished(self, line: Line, time: float, k: int) -> FilterRun | float:
        """What the end of the simulation cuts short, on a line carried there: a filter run, or off-line seconds."""
        if k in self._washing:
            return time - self._since[k]
        return self._run(line, time, k, None, math.inf)

    def _run(self, line: Line, time: float, k: int, cause: Cause | None, pressure_set: float) -> FilterRun:
        treated, load, residual, clean, loaded, over, unused, blocked = line.run_figures(k, pressure_set)
        return FilterRun(
            stage=self._names[k],
            number=self.washes[k] + 1,
            start_s=self._since[k],
            end_s=time,
            cause=cause,
            volume_m3=treated,
            load_g_m2=load / line.areas[k],
            residual_g_m2=residual,
            clean_dp_kpa=clean / KILO,
            end_dp_kpa=loaded / KILO,
            over_limit_h=over / HOUR,
            unused_capacity=None if cause is None or math.isnan(unused) else unused,
            blocked=blocked,
        )
