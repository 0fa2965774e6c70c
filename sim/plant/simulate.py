"""One run of one policy: `simulate` for the whole of it, `Plant` to stop on the way and look."""

from collections.abc import Callable, Sequence
from datetime import timedelta

from sim.case.records import Case
from sim.case.trigger.records import Policy
from sim.plant.clock import DAY, STAGES_AT_MOST, Order, checked
from sim.plant.environment import LeapingEnvironment, Process
from sim.plant.errors import ClockError, PolicyError
from sim.plant.failing import Failing
from sim.plant.filter import Filter
from sim.plant.ledger import Books, check_balances, site_figures, solute_ledger, stage_figures
from sim.plant.line import Line
from sim.plant.meter import Shown
from sim.plant.recorder import Beginning, Recorder
from sim.plant.records import Event, FilterRun, LogEntry, RunResult, Why
from sim.plant.shared import Site
from sim.plant.stage import StageVessels
from sim.plant.stage_clock import StageClock
from sim.plant.stores import Stores


def simulate(case: Case, policy: str, *, seed: int = 1, replicate: int = 0) -> RunResult:
    """Run a case through one of its policies, over its whole length, in one of the weathers that a seed gives.

    Raises PolicyError for a policy the case does not have, and RunError where a run cannot go on or its ledger does
    not close. The case is not changed; the same case, policy, seed and replicate give the same to the last bit.
    """
    plant = Plant(case, policy, seed=seed, replicate=replicate)
    plant.run_until(case.run.length)
    return plant.result()


class Plant:
    """The line, its filters and their clock; nothing of a case is changed."""

    def __init__(self, case: Case, policy: str, *, seed: int = 1, replicate: int = 0) -> None:
        self._case, self._policy, self._seed, self._replicate = case, _find(case, policy), seed, replicate
        self._line = Line(case, seed=seed, replicate=replicate)
        self._env = LeapingEnvironment(self._line)
        self._recorder = Recorder(case, self._line)
        self._until = 0.0
        site = Site(self._env, case.washing, case.stages)
        triggers = dict(self._policy.triggers)
        midnight = case.run.start.replace(hour=0, minute=0, second=0, microsecond=0)
        sisters = [StageVessels(self._env, self._line, case, k) for k in range(len(case.stages))]
        self._stores = [Stores(stage) for stage in case.stages]
        self._clocks = [each.clock for each in sisters]
        self._failing = Failing(self._env, self._line, self._recorder, case, self._clocks, self._stores)
        self._filters = [
            Filter(
                self._env,
                self._line,
                self._recorder,
                site,
                sisters[k],
                self._stores[k],
                self._failing,
                i=i,
                case=case,
                trigger=triggers[stage.name],
                midnight=(midnight - case.run.start) / timedelta(seconds=1),
            )
            for k, stage in enumerate(case.stages)
            for i in sisters[k].vessels
        ]

    def run_until(self, stop: float) -> None:
        """Go on to `stop` [s from the start]; events at that instant belong to the next call.

        Raises ClockError for a stop before the last one or after the case's end.
        """
        if stop > self._case.run.length:
            raise ClockError(self._until, stop, f"the case ends at {self._case.run.length:.6g} s")
        self._env.run_until(checked(self._until, stop))
        self._until = stop

    def visit(self, times: Sequence[float], look: Callable[[int, Line], None]) -> None:
        """Have `look` called with number and line at each of some rising times [s], the line carried there.

        At one instant that is after phases end and before washes start. It cuts pieces there, so a run that is
        visited may differ from one that is not in its last digits; `look` is to change nothing.
        """
        self._env.process(self._visits(times, look))

    def listen(self, hear: Callable[[Beginning, int, Line], None]) -> None:
        """Have `hear` called as a wash, a step of one or a filter run of a vessel begins, the line carried there; as
        a wash begins, its vessel is still in service. It may `visit` what comes, and is to change nothing."""
        self._recorder.hear = lambda what, i: hear(what, i, self._line)

    def _visits(self, times: Sequence[float], look: Callable[[int, Line], None]) -> Process[None]:
        for number, time in enumerate(times):
            yield self._env.at(time, Order.PHASE, STAGES_AT_MOST - 1)
            look(number, self._line)

    def look(self) -> Line:
        """A copy of the line carried to where the run stopped."""
        return self._line.at(self._until)

    def salt_left(self, k: int) -> float:
        """Salt that stage k has in store [g] where the run stopped; inf where none can run out."""
        return self._stores[k].salt_left(self._until)

    @property
    def clocks(self) -> list[StageClock]:
        """The clock of every stage, as it was up to where the run stopped."""
        return self._clocks

    def treated_shown(self, i: int) -> float:
        """What the meter of vessel i shows since its wash, where the run stopped [m3]."""
        line, (k, _) = self.look(), self._line.places[i]
        return self._failing.devices[k].meters[i].treated(line.of_vessel("treated", i))

    def shown(self, i: int) -> Shown:
        """What the devices of vessel i show a person where the run stopped, through whatever has failed of them."""
        line, (k, _) = self.look(), self._line.places[i]
        devices = self._failing.devices[k]
        return Shown(
            total=devices.meters[i].total(line.of_vessel("served_total", i)),
            since_wash_s=self._until - self._filters[i].washed,
            dp_pa=devices.seen(line.reading(i)[1]),
            clock_reading=self._clocks[k].reading(self._until),
        )

    def result(self) -> RunResult:
        """What has happened so far."""
        line, recorder, case = self.look(), self._recorder, self._case
        log, runs = list(recorder.log), list(recorder.runs)
        off_line = []
        for i in range(len(line.names)):
            cut = recorder.unfinished(line, self._until, i)
            if isinstance(cut, FilterRun):
                runs.append(cut)
            off_line.append(0.0 if isinstance(cut, FilterRun) else cut)
            log += recorder.untold(line, self._until, i)
        books = Books(line)
        stages = [stage_figures(case, books, recorder, k, runs, off_line) for k in range(len(case.stages))]
        site = site_figures(case, books, recorder, stages)
        check_balances(case, books, stages, site)
        log.append(LogEntry(self._until, "site", Event.RUN_ENDS, Why.RUN_END))
        return RunResult(
            policy=self._policy.name,
            seed=self._seed,
            replicate=self._replicate,
            days=self._until / DAY,
            log=tuple(log),
            runs=tuple(runs),
            site=site,
            stages={stage.name: figures for stage, figures in zip(case.stages, stages, strict=True)},
            wash_flows={stage.name: self._wash_flows(k) for k, stage in enumerate(case.stages)},
            counts=self._counts(),
            solutes=solute_ledger(case, books),
        )

    def _wash_flows(self, k: int) -> tuple[float | None, ...]:
        """The least mean flow of each step of a wash of stage k, over its vessels [m3/s]."""
        found: list[float | None] = []
        for number, step in enumerate(self._case.stages[k].steps):
            shares = [self._recorder.shares[i][number] for i in self._line.vessels_of(k)]
            least = min((share for share in shares if share is not None), default=None)
            found.append(None if least is None else least * step.flow)
        return tuple(found)

    def _counts(self) -> dict[str, int]:
        """What the run cost: the counts that benchmarks gate on."""
        (c,) = self._line.read("control")
        return {
            "pieces": c["pieces"],
            "bed_readings": c["readings"],
            "bed_settlings": c["settlings"],
            "kernel_calls": c["calls"],
            "events": self._env.events,
            "longest_queue": self._env.longest_queue,
        }


def _find(case: Case, name: str) -> Policy:
    for policy in case.policies:
        if policy.name == name:
            return policy
    raise PolicyError(name, tuple(policy.name for policy in case.policies))
