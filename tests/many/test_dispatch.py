"""Work handed out: what a lost worker had is done again, and workers that never answer end the study."""

import os
import time
from concurrent.futures import BrokenExecutor, Executor, Future
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any

import pytest

from sim.case.records import Case
from sim.study.errors import StudyError
from sim.study.many import dispatch, workers
from sim.study.many.dispatch import BATCH_SECONDS, Dispatch, shared_out
from sim.study.many.jobs import Job
from sim.study.many.outcome import Outcome
from sim.study.many.repeat import repeat
from sim.study.many.workers import Crew, Here, local, usable_cores
from tests.many.made import case_of, noisy

TODO = [(place, ("one", "two")) for place in range(40)]


def dispatched(crew: Crew) -> Dispatch:
    case = case_of()
    return Dispatch(TODO, lambda place, names: Job(case=case, replicate=place, policies=names), crew, 1, noisy)


class Breaking(Here):
    """An executor that breaks at its nth call for good, as a pool does that loses a process."""

    def __init__(self, after: int) -> None:
        self.left, self.broken = after, False

    def submit(self, call: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        if self.broken:
            raise BrokenExecutor("broken before")
        self.left -= 1
        if self.left < 0:
            self.broken = True
            future: Future[Any] = Future()
            future.set_exception(BrokenExecutor("a process ended abruptly"))
            return future
        return super().submit(call, *args, **kwargs)


def test_every_run_comes_back_once_though_every_executor_breaks() -> None:
    made: list[Executor] = []

    def make() -> Executor:
        made.append(Breaking(after=1))
        return made[-1]

    answers = list(dispatched(Crew(make, 2, (BrokenExecutor,))).answers())
    runs = [(each.policy, each.replicate) for answer in answers for each in answer.outcomes]
    assert sorted(runs) == sorted((name, place) for place, names in TODO for name in names)
    assert len(made) > 3


def test_workers_that_always_break_end_the_study() -> None:
    made: list[Executor] = []

    def make() -> Executor:
        made.append(Breaking(after=0))
        return made[-1]

    with pytest.raises(StudyError, match="workers were lost 10 times in a row"):
        list(dispatched(Crew(make, 2, (BrokenExecutor,))).answers())
    assert len(made) == 10


def test_batches_grow_to_what_is_worth_a_journey_and_shrink_at_the_end(monkeypatch: pytest.MonkeyPatch) -> None:
    sizes: list[int] = []

    def answer_of(jobs: tuple[Job, ...], seed: int, run: Any) -> Any:
        sizes.append(len(jobs))
        return dispatch.Answer(program=dispatch.program(), seconds=len(jobs) * BATCH_SECONDS / 8.0, outcomes=())

    monkeypatch.setattr(dispatch, "answer_of", answer_of)
    list(dispatched(Crew(Here, 1)).answers())
    assert sum(sizes) == len(TODO)
    assert sizes[:2] == [1, 1]  # both handed out before the first is back
    assert max(sizes) == 8
    assert sizes[-1] == 1
    assert sizes[2:] == sorted(sizes[2:], reverse=True)


def dying(case: Case, policy: str, seed: int, replicate: int) -> Outcome:
    """Ends its process at the sixth replicate, unless that has happened before."""
    flag = Path(case.title)
    if replicate == 5 and not flag.exists():
        flag.touch()
        os._exit(1)
    return noisy(case, policy, seed, replicate)


def test_a_process_that_dies_in_a_run_is_replaced(tmp_path: Path) -> None:
    from dataclasses import replace

    case = replace(case_of(), title=str(tmp_path / "died"))
    with local(2) as crew:
        found = repeat(case, crew, replicates=20, run=dying)
    assert (tmp_path / "died").exists()
    assert found.to_json() == repeat(case, Crew(Here, 1), replicates=20, run=dying).to_json()


@pytest.mark.parametrize("ahead", [0.0, 60.0])
def test_a_crew_grows_when_its_runs_take_long_or_are_known_to(ahead: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """One process to begin with, two in the end, and the same results as from one."""
    monkeypatch.setattr(workers, "WORTH_OTHERS", 1e-9 if ahead == 0.0 else 30.0)
    monkeypatch.setattr(workers, "usable_cores", lambda: 2)
    with local(None, ahead) as crew:
        assert crew.count == (1 if ahead == 0.0 else 2)
        found = repeat(case_of(), crew, replicates=12, run=noisy)
        assert crew.count == 2
    assert found.to_json() == repeat(case_of(), Crew(Here, 1), replicates=12, run=noisy).to_json()


def test_a_crew_stays_alone_for_little(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workers, "usable_cores", lambda: 2)
    with local(None) as crew:
        repeat(case_of(), crew, replicates=12, run=noisy)
        assert (crew.count, type(crew.executor)) == (1, Here)


def test_a_crew_stays_alone_where_no_process_can_be_started(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(workers: int) -> Executor:
        raise PermissionError(f"{workers} processes")

    monkeypatch.setattr(workers, "usable_cores", lambda: 2)
    monkeypatch.setattr(workers, "_Pool", refused)
    with local(None, ahead=60.0) as crew:
        found = repeat(case_of(), crew, replicates=12, run=noisy)
        assert crew.count == 1
    assert found.to_json() == repeat(case_of(), Crew(Here, 1), replicates=12, run=noisy).to_json()


def test_runs_under_way_end_when_the_work_is_given_up() -> None:
    def give_up(under_way: list[Future[None]]) -> None:
        with local(2) as crew:
            crew.executor.submit(os.getpid).result()
            under_way += [crew.executor.submit(time.sleep, 600.0) for _ in range(2)]
            raise KeyboardInterrupt

    under_way: list[Future[None]] = []
    with pytest.raises(KeyboardInterrupt):
        give_up(under_way)
    assert [type(each.exception(timeout=60.0)) for each in under_way] == [BrokenProcessPool] * 2


def test_one_core_at_least_can_be_used() -> None:
    assert 1 <= usable_cores() <= (os.cpu_count() or 1)


def test_few_replicates_are_shared_out_policy_by_policy() -> None:
    """Ten ways to wash on one year keep every worker busy; those that are on file are asked of nobody."""
    names = tuple("abc")
    assert shared_out([(0, names)], 2) == [(0, ("a",)), (0, ("b",)), (0, ("c",))]
    assert shared_out([(0, names), (1, ()), (2, ("c",))], 2) == [(0, names), (2, ("c",))]
    assert shared_out([(0, ())], 2) == []
