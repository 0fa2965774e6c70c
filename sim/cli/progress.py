"""What a person sees while runs go on: a line on the terminal, gone when they are over."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import monotonic

from rich.console import Console
from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    SpinnerColumn,
    TextColumn,
    TimeElapsedColumn,
    TimeRemainingColumn,
)
from rich.progress import Progress as Bar
from rich.text import Text

from plots import words
from plots.words import Label, Name, label, say
from sim.cli.options import say_plainly
from sim.cli.screen import one_line
from sim.study.compare import Progress, plain_first
from sim.study.many.repeat import Count
from sim.tell.present import duration

FIRST, OFTEN = 3.0, 20.0  # s: before a first answer, and between two lines where there is no terminal


@contextmanager
def watched(quiet: bool, *, plain: bool = True) -> Iterator[Progress]:
    """A progress call for the length of the runs; it shows nothing with --quiet or where no terminal is.

    `plain`: the runs are few, so they do not wait for compiled code, which a line then says.
    """
    console = Console(stderr=True)

    def told() -> None:
        if not quiet:
            console.print(Text(say("progress.plain")), soft_wrap=True)

    with plain_first(told if plain else None):
        if quiet or not console.is_terminal:
            yield lambda name, place, count: None
            return
        with console.status("") as status:
            yield lambda name, place, count: status.update(Text(_run_line(name, place, count)))


def _run_line(name: str, place: int, count: int) -> Label:
    number, every, run = words.count(place + 1), words.count(count), Name(one_line(name))
    if place == 0:
        return label("progress.first_run", number=number, every=every, run=run)
    return label("progress.run", number=number, every=every, run=run)


class Phases:
    """What a person sees of a study whose runs nobody can count beforehand.

    What it does, the runs done, the time taken and, of a part of it, left: on a terminal in a line that is gone when
    the study is over, elsewhere in one every OFTEN seconds. Answers so far stay; the first one waits FIRST seconds.
    """

    def __init__(self, say: Callable[[str], None], bar: Bar | None) -> None:
        self._say, self._bar = say, bar
        self._task = None if bar is None else bar.add_task(label("progress.starting"), total=None)
        self._begun = self._told = monotonic()
        self._part, self._first, self._since = "", 0, self._begun
        self._phase: Callable[[], str] = lambda: label("progress.starting")
        self._answer, self._done = "", 0

    def runs(self, done: int, goal: int) -> None:
        """So many runs are done."""
        self._done, now = done, monotonic()
        if self._answer and now - self._begun > FIRST:
            self._say(self._answer)
            self._answer = ""
        if self._bar is not None and self._task is not None:
            self._bar.update(self._task, completed=done, description=self._phase())
        elif now - self._told > OFTEN:
            self._told = now
            self._say(self._phase())

    def phase(self, what: Label, part: str, place: int, count: int) -> None:
        """What comes next: `place` of `count` of a part."""
        now = monotonic()
        if part != self._part:
            self._part, self._first, self._since = part, place, now
        behind, ahead = place - self._first, count - place + 1
        left = (now - self._since) / behind * ahead if behind > 0 else None
        self._phase = lambda: one_line(self._line(what, left))
        self.runs(self._done, 0)

    def so_far(self, answer: str) -> None:
        """What the answer would be so far."""
        self._answer = answer
        self.runs(self._done, 0)

    def _line(self, what: Label, left: float | None) -> Label:
        taken, runs = duration(round(monotonic() - self._begun)), words.count(self._done)
        if left is None or left < OFTEN:
            return label("phase.going", phase=Name(what), runs=runs, length=taken)
        ahead = duration(10 * round(left / 10))
        return label("phase.going_left", phase=Name(what), runs=runs, length=taken, left=ahead)


@contextmanager
def phased(quiet: bool) -> Iterator[Phases]:
    """What tells a person of a study while it goes on; nothing with --quiet."""
    console = Console(stderr=True)
    if quiet:
        yield Phases(lambda text: None, None)
    elif not console.is_terminal:
        yield Phases(say_plainly, None)
    else:
        columns = SpinnerColumn(), TextColumn("{task.description}", markup=False)
        with Bar(*columns, console=console, transient=True) as bar:
            yield Phases(lambda text: bar.console.print(Text(text)), bar)


@contextmanager
def counted(quiet: bool, *, ends: bool = False) -> Iterator[Count]:
    """A call that takes how many runs, those at the `ends` of ranges, are done and of how many, and shows them."""
    console = Console(stderr=True)
    if quiet or not console.is_terminal:
        yield lambda done, goal: None
        return
    which = TextColumn(label("progress.ends") if ends else label("progress.runs"))
    columns = (
        which, MofNCompleteColumn(), BarColumn(), TimeElapsedColumn(),
        TextColumn(label("progress.left")), TimeRemainingColumn(),
    )  # fmt: skip
    with Bar(*columns, console=console, transient=True) as bar:
        task = bar.add_task("", total=None)
        yield lambda done, goal: bar.update(task, completed=done, total=goal)
