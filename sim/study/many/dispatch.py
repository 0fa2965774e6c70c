"""Jobs handed to a crew in batches; a worker that is lost costs a repetition, never a result."""

from collections import deque
from collections.abc import Callable, Generator, Sequence
from concurrent.futures import FIRST_COMPLETED, CancelledError, Executor, Future, wait

from sim.study.errors import StudyError
from sim.study.many.jobs import Answer, Job, answer_of
from sim.study.many.outcome import RunOne
from sim.study.many.program import program
from sim.study.many.workers import Crew

Todo = tuple[int, tuple[str, ...]]
"""A replicate and the policies of it that are missing."""

BATCH_SECONDS = 0.25  # handing out a batch costs less than 1 % of it
BATCHES_EACH = 2  # under way for each worker: the next is there when one ends
LOSSES_IN_A_ROW = 10  # without one batch done between them


def shared_out(todo: Sequence[Todo], workers: int) -> list[Todo]:
    """What is left to do; where there are fewer replicates than workers, their policies one by one."""
    if len(todo) >= workers:
        return [each for each in todo if each[1]]
    return [(replicate, (policy,)) for replicate, policies in todo for policy in policies]


class Dispatch:
    """Does all of `todo`; `make` gives a job its case when its turn has come, so that few exist at a time."""

    def __init__(
        self, todo: Sequence[Todo], make: Callable[[int, tuple[str, ...]], Job], crew: Crew, seed: int, run: RunOne
    ) -> None:
        self._waiting = deque(todo)
        self._make, self._crew, self._seed, self._run = make, crew, seed, run
        self._pending: dict[Future[Answer], tuple[list[Todo], Executor]] = {}
        self._each = BATCH_SECONDS  # s for one job, as far as known: the first batches are one job each
        self._losses = 0
        self.batches = 0

    def answers(self) -> Generator[Answer, None, None]:
        """The answers in the order in which they come in; closed before the end, it calls off what has not begun."""
        try:
            while self._waiting or self._pending:
                while self._waiting and len(self._pending) < BATCHES_EACH * self._crew.count:
                    self._hand_out()
                done, _ = wait(self._pending, return_when=FIRST_COMPLETED)
                for future in done:
                    answer = self._answer(future)
                    if answer is not None:
                        yield answer
        finally:
            for future in self._pending:
                future.cancel()

    def _hand_out(self) -> None:
        batch = [self._waiting.popleft() for _ in range(self._size())]
        jobs = tuple(self._make(*each) for each in batch)
        executor = self._crew.executor
        try:
            future = executor.submit(answer_of, jobs, self._seed, self._run)
        except self._crew.losses as loss:
            self._lost(batch, executor, loss)
        else:
            self._pending[future] = (batch, executor)

    def _size(self) -> int:
        """As many jobs as take BATCH_SECONDS, fewer towards the end so that all workers end together."""
        fair = -(-len(self._waiting) // (BATCHES_EACH * self._crew.count))
        return max(min(int(BATCH_SECONDS / self._each), fair), 1)

    def _answer(self, future: Future[Answer]) -> Answer | None:
        """What came back; None where the worker was lost and its batch waits again."""
        batch, executor = self._pending.pop(future)
        try:
            answer = future.result()
        except self._crew.losses as loss:
            self._lost(batch, executor, loss)
            return None
        except CancelledError as error:
            raise StudyError("the cluster gave up a batch of runs: is its scheduler still there?") from error
        except ImportError as error:
            raise StudyError(f"a worker cannot load the program: {error}") from error
        if answer.program != program():
            raise StudyError("a worker has another version of the program or of its libraries")
        self._each = max(answer.seconds / len(batch), 1e-6)
        self._crew.worked(answer.seconds)
        self._losses = 0
        self.batches += 1
        return answer

    def _lost(self, batch: list[Todo], executor: Executor, loss: BaseException) -> None:
        self._waiting.extendleft(reversed(batch))
        if executor is not self._crew.executor:  # its pool has been replaced already
            return
        self._losses += 1
        if self._losses >= LOSSES_IN_A_ROW:
            raise StudyError(f"workers were lost {self._losses} times in a row: {loss}") from loss
        self._crew.renew()
