"""The desk: a queue of jobs and a few worker processes, each of which can be stopped at any moment.

Whoever asks for the same job joins it. A job that nobody waits for any more is dropped, one that takes too long is
stopped, and when too many wait the next one is refused.
"""

import asyncio
import multiprocessing
import os
import pickle
import threading
from collections import OrderedDict
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple, TypeVar

from plots.words import Sentence, say, speaking
from sim.processes import safely
from sim.web.errors import Refused
from sim.web.worker import Job, Message, work

MOST_WORKERS = 4
MOST_WAITING = 60
MOST_KEPT = 48 << 20  # bytes of answers
MOST_BROKEN = 5  # workers in a row that end before they are ready
LONGEST = 120.0  # s that a job may take unless it says so itself
GRACE = 6.0  # s after which a job that nobody asks about is dropped
T = TypeVar("T")


class Going(NamedTuple):
    """A job that is not done yet, and what is known of it."""

    words: Sentence


@dataclass(slots=True, eq=False)
class Task:
    """A job on the desk. `waiting` counts who waits for it now, `left` is when the last of them went."""

    job: Job[Any]
    future: asyncio.Future[Any]
    words: Sentence = field(default_factory=lambda: say("page.working.waits"))
    waiting: int = 0
    left: float = 0.0
    started: float | None = None


@dataclass(slots=True, eq=False)
class Hand:
    """A worker process, its pipe, and the task that it has."""

    process: Any
    pipe: Any
    task: Task | None = None
    ready: bool = False
    timer: asyncio.TimerHandle | None = None


class Desk:
    """Takes jobs and gives answers; lives in one event loop, from `open` to `close`."""

    def __init__(self, warm_up: Job[None], workers: int | None = None) -> None:
        self._warm_up = warm_up  # what a worker does before it is ready
        self._count = workers or min(max(os.cpu_count() or 1, 1), MOST_WORKERS)
        self._context = multiprocessing.get_context("spawn")
        self._hands: list[Hand] = []
        self._queue: list[Task] = []
        self._tasks: dict[Job[Any], Task] = {}
        self._kept: OrderedDict[Job[Any], tuple[Any, int]] = OrderedDict()
        self._broken = 0
        self._closed = False

    def open(self) -> None:
        """Start the first worker; the next one follows when it is ready, so that the kernel is compiled only once."""
        self._loop = asyncio.get_running_loop()
        self._hire()
        self._sweep()

    def close(self) -> None:
        """Stop every worker."""
        self._closed = True
        for hand in self._hands:
            hand.process.kill()
        for hand in self._hands:
            hand.process.join(5.0)

    async def ask(self, job: Job[T], patience: float) -> T | Going:
        """The answer of a job, or `Going` if it takes longer than `patience` [s]; Refused if it has none."""
        if job in self._kept:
            self._kept.move_to_end(job)
            kept: T = self._kept[job][0]
            return kept
        task = self._tasks.get(job) or self._put(job)
        task.waiting += 1
        stays = False
        try:
            await asyncio.wait({task.future}, timeout=patience)
            stays = True
        finally:
            task.waiting -= 1
            task.left = self._loop.time()
            if not stays and not task.waiting and task.started is None:
                self._drop(task)
        if not task.future.done():
            return Going(task.words)
        done: T = task.future.result()
        return done

    def cancel(self, job: Job[Any]) -> None:
        """Stop a job for everybody who waits for it."""
        task = self._tasks.get(job)
        if task is not None:
            self._stop(task, Refused(409, "This was cancelled."))

    def _put(self, job: Job[Any]) -> Task:
        if len(self._queue) >= MOST_WAITING:
            raise Refused(429, "Too many answers are being worked out at this moment; try again in a few seconds.")
        if not self._hands:
            raise Refused(500, "The page has no workers; its terminal says why.")
        task = Task(job, self._loop.create_future())
        if not any(hand.ready for hand in self._hands):
            task.words = say("page.working.gets_ready")
        task.future.add_done_callback(lambda future: future.exception())  # nobody may be left to take it
        self._tasks[job] = task
        self._queue.append(task)
        self._hand_out()
        return task

    def _hand_out(self) -> None:
        for hand in self._hands:
            if self._queue and hand.task is None and hand.ready:
                self._give(hand, self._queue.pop(0))

    def _give(self, hand: Hand, task: Task) -> None:
        with speaking(task.job.language):
            hand.task, task.started, task.words = task, self._loop.time(), say("page.working.works")
        longest = task.job.longest or LONGEST
        late = Refused(422, f"This took longer than {longest:g} s and was stopped; a shorter run takes less time.")
        hand.timer = self._loop.call_later(longest, self._stop, task, late)
        hand.pipe.send(task.job)

    def _stop(self, task: Task, why: Refused) -> None:
        """End a task, with the worker that has it; a new worker takes its place."""
        for hand in [each for each in self._hands if each.task is task]:
            self._dismiss(hand)
            self._hire()
        self._finish(task, why)

    def _drop(self, task: Task) -> None:
        self._stop(task, Refused(409, "Nobody waited for this any more."))

    def _finish(self, task: Task, answer: Any, size: int = 0) -> None:
        self._tasks.pop(task.job, None)
        if task in self._queue:
            self._queue.remove(task)
        if task.future.done():
            return
        if isinstance(answer, Refused):
            task.future.set_exception(answer)
            return
        self._kept[replace(task.job, given=None)] = answer, size
        while sum(each for _, each in self._kept.values()) > MOST_KEPT:
            self._kept.popitem(last=False)
        task.future.set_result(answer)

    def _sweep(self) -> None:
        """Drop, every second, what nobody has asked about for a while."""
        now = self._loop.time()
        for task in list(self._tasks.values()):
            if not task.waiting and now - task.left > GRACE:
                self._drop(task)
        if not self._closed:
            self._loop.call_later(1.0, self._sweep)

    def _hire(self) -> None:
        here, there = self._context.Pipe()
        process = self._context.Process(target=work, args=(there,), daemon=True)
        with safely():
            process.start()
        there.close()
        hand = Hand(process, here)
        self._hands.append(hand)
        here.send(self._warm_up)
        threading.Thread(target=self._listen, args=(hand,), daemon=True).start()

    def _dismiss(self, hand: Hand) -> None:
        self._hands.remove(hand)
        if hand.timer is not None:
            hand.timer.cancel()
        hand.process.kill()

    def _listen(self, hand: Hand) -> None:
        """In a thread of its own: pass on what a worker says, until it says no more."""
        while True:
            try:
                content = hand.pipe.recv_bytes()
            except (EOFError, OSError):
                content = None
            if self._closed or self._loop.is_closed():
                return
            self._loop.call_soon_threadsafe(self._heard, hand, content)
            if content is None:
                hand.process.join()
                return

    def _heard(self, hand: Hand, content: bytes | None) -> None:
        if self._closed or hand not in self._hands:
            return
        if content is None:
            self._died(hand)
            return
        message: Message = pickle.loads(content)  # from a process of ours
        if message.kind == "told":
            if hand.task is not None:
                hand.task.words = message.value
        elif not hand.ready:
            hand.ready, self._broken = True, 0
            if len(self._hands) < self._count:
                self._hire()
        elif hand.task is not None:
            task, hand.task = hand.task, None
            if hand.timer is not None:
                hand.timer.cancel()
            self._finish(task, message.value, len(content))
        self._hand_out()

    def _died(self, hand: Hand) -> None:
        self._dismiss(hand)
        self._broken += not hand.ready
        if self._broken < MOST_BROKEN:
            self._hire()
        if hand.task is not None:
            self._finish(hand.task, Refused(422, "This was too much for this computer; a shorter run takes less."))
