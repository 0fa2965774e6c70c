"""One run of one policy: its events, its filter runs and its ledger."""

from datetime import datetime
from difflib import get_close_matches
from typing import Any

from sim.case.record import record
from sim.case.records import Case
from sim.case.trigger.records import Policy, Trigger
from sim.plant.records import FilterRun, LogEntry, RunResult
from sim.plant.simulate import simulate
from sim.study.compare import heading
from sim.study.costs import priced
from sim.study.errors import RequestError
from sim.study.moments import moment


@record
class SingleRun:
    """The result of one policy of `case`."""

    case: Case
    result: RunResult

    def to_json(self) -> dict[str, Any]:
        """Plain data for a JSON file; times both in seconds from the start and as local date and time."""
        start = self.case.run.start
        return {
            **heading(self.case, self.result.days, self.result.seed),
            "policy": self.result.policy,
            "site": self.result.site,
            "stages": self.result.stages,
            "solutes": self.result.solutes,
            "runs": [run_row(run, start) for run in self.result.runs],
            "log": [log_row(entry, start) for entry in self.result.log],
        }


def run(case: Case, policy: str, *, seed: int = 1) -> SingleRun:
    """Run one policy of the case; RequestError with the nearest name if the case has no such policy."""
    require_policy(case, policy)
    return SingleRun(case=case, result=priced(case, simulate(case, policy, seed=seed)))


def triggers_of(case: Case, policy: str) -> dict[str, Trigger]:
    """What starts a wash of each stage under one policy."""
    return dict(policy_named(case, policy).triggers)


def place_of(case: Case, policy: str) -> int:
    """Where a policy stands in the case, from 0: it gives the policy one look in all figures."""
    return [each.name for each in case.policies].index(policy)


def require_policy(case: Case, policy: str) -> None:
    """Refuse a policy that the case does not have."""
    names = [each.name for each in case.policies]
    if policy in names:
        return
    near = get_close_matches(policy.lower(), names, n=1, cutoff=0.5)
    known = ", ".join(f'"{name}"' for name in names)
    raise RequestError(
        f'the case has no policy "{policy}"; it has: {known}' + (f'; did you mean "{near[0]}"?' if near else "")
    )


def policy_named(case: Case, name: str) -> Policy:
    """The policy of that name; RequestError with the nearest name if the case has none."""
    require_policy(case, name)
    return next(each for each in case.policies if each.name == name)


def log_row(entry: LogEntry, start: datetime) -> dict[str, Any]:
    """One event as plain data."""
    keys = ("time_s", "who", "what", "why", "volume_m3", "solids_kg")
    return {"time": moment(start, entry.time_s).isoformat(), **{key: getattr(entry, key) for key in keys}}


def run_row(each: FilterRun, start: datetime) -> dict[str, Any]:
    """One filter run as plain data."""
    times = {
        "start": moment(start, each.start_s).isoformat(),
        "end": moment(start, each.end_s).isoformat(),
    }
    return times | each._asdict()
