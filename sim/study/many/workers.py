"""Who does the runs: this process, processes of this machine, or a cluster, all behind `concurrent.futures.Executor`.

A `Crew` is such an executor with a way to make a new one. A lost worker breaks a pool of processes for good, so the
crew then goes on with a new pool; a cluster replaces its workers by itself.
"""

import contextlib
import multiprocessing
import os
import re
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from importlib import import_module
from multiprocessing import forkserver
from multiprocessing.context import BaseContext
from typing import Any

from sim.processes import safely, serve_parent
from sim.study.errors import RequestError, StudyError

PRELOADED = ["sim.study.many.warm", "sim.study.many.jobs"]
ADDRESS = r"(tcp|tls)://([\w.-]+|\[[0-9a-fA-F:.]+\]):\d{1,5}"
ANSWERS_WITHIN = 20.0  # s, a cluster when it is first asked
WORTH_OTHERS = 3.0  # s of runs in one process: about what two of a pool take to begin


class Crew:
    """An executor that can be made anew, how many calls it does at a time, and which errors say a worker was lost."""

    def __init__(self, make: Callable[[], Executor], count: int, losses: tuple[type[Exception], ...] = ()) -> None:
        self.count, self.losses, self._make = count, losses, make
        self.executor = make()

    def worked(self, seconds: float) -> None:
        """Runs that took so long [s] are done; what that means is up to the kind of crew."""

    def renew(self) -> None:
        """Go on with a new executor; what the old one had not finished is to be given out again."""
        self.dismiss()
        self.executor = self._make()

    def dismiss(self) -> None:
        """Take no more work; calls under way are not waited for."""
        self.executor.shutdown(wait=False)


class Growing(Crew):
    """This process alone, and others of this machine in its place once runs take longer than those need to begin.

    `ahead`: seconds that the runs are expected to take, as far as that is known.
    """

    def __init__(self, most: int, ahead: float) -> None:
        super().__init__(Here, 1)
        self._most, self._taken = most, 0.0
        self.worked(ahead)

    def worked(self, seconds: float) -> None:
        """Grow to the most workers when it is worth it, where this machine lets processes be started."""
        self._taken += seconds
        if self.count < self._most and self._taken > WORTH_OTHERS:
            with contextlib.suppress(ImportError, NotImplementedError, OSError):
                self.executor = _Pool(self._most)
                self.count, self.losses, self._make = self._most, (BrokenExecutor,), lambda: _Pool(self._most)


class Here(Executor):
    """This process and this thread: a call is done before its future is returned."""

    def submit(self, call: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Call at once; only an Exception is kept for later, an interrupt goes through."""
        future: Future[Any] = Future()
        try:
            future.set_result(call(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


def usable_cores() -> int:
    """The cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@contextlib.contextmanager
def local(workers: int | None, ahead: float = 0.0) -> Iterator[Crew]:
    """Processes of this machine; one worker is this process itself, None as many as are worth it (see `Growing`)."""
    if workers is None:
        crew: Crew = Growing(usable_cores(), ahead)
    elif workers == 1:
        crew = Crew(Here, 1)
    else:
        crew = Crew(lambda: _Pool(workers), workers, (BrokenExecutor,))
    try:
        yield crew
    except BaseException:
        if isinstance(crew.executor, _Pool):
            crew.executor.end()
        raise
    finally:
        crew.dismiss()


class _Pool(ProcessPoolExecutor):
    """Processes of this machine; any of them, and what keeps them, may begin whenever a call is handed in."""

    def __init__(self, workers: int) -> None:
        with safely():
            super().__init__(workers, mp_context=_context(), initializer=serve_parent)

    def submit(self, call: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Hand in a call."""
        with safely():
            return super().submit(call, *args, **kwargs)

    def end(self) -> None:
        """End every call under way with its worker, and wait until that is done."""
        for process in list((self._processes or {}).values()):
            process.kill()  # or leaving the program waits for the runs under way
        # A worker that dies while it answers leaves half a message; only its end is waited for, not the rest of it,
        # once this process does not hold the pipe open itself.
        self._result_queue._writer.close()  # type: ignore[attr-defined]
        self.shutdown(wait=True)  # at once now; else its thread may still be at it when the program ends


def _context() -> BaseContext:
    """How processes are made: where forks are sound, from one that begins at once to load what they need."""
    if sys.platform != "linux":
        return multiprocessing.get_context("spawn")
    forkserver.set_forkserver_preload(PRELOADED)
    forkserver.ensure_running()
    return multiprocessing.get_context("forkserver")


@contextlib.contextmanager
def cluster(address: str) -> Iterator[Crew]:
    """The workers of a dask scheduler that is running at `address`, such as tcp://127.0.0.1:8786."""
    if re.fullmatch(ADDRESS, address) is None:
        raise RequestError(f"--cluster {address}: wanted is the address of a scheduler, such as tcp://127.0.0.1:8786")
    try:
        distributed: Any = import_module("distributed")
    except ImportError as error:
        raise RequestError('a cluster needs the extra "cluster": pip install "filterrun[cluster]"') from error
    try:
        client = distributed.Client(address, timeout=ANSWERS_WITHIN, set_as_default=False)
    except (OSError, ValueError) as error:
        raise RequestError(f"no scheduler answers at {address}: {error}") from error
    with client:
        count = sum(client.nthreads().values())
        if not count:
            raise StudyError(f"the scheduler at {address} has no worker")
        crew = Crew(lambda: client.get_executor(retries=0), count, (distributed.KilledWorker,))
        try:
            yield crew
        finally:
            crew.dismiss()
