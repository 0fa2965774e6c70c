"""What a person sees while runs go on: a line on the terminal, gone when they are over."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

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

from sim.cli.screen import one_line
from sim.study.compare import Progress
from sim.study.many.repeat import Count

FIRST_RUN = " (the very first one compiles, for seconds)"


@contextmanager
def watched(quiet: bool) -> Iterator[Progress]:
    """A progress call for the length of the runs; it shows nothing with --quiet or where no terminal is."""
    console = Console(stderr=True)
    if quiet or not console.is_terminal:
        yield lambda name, place, count: None
        return
    with console.status("") as status:
        yield lambda name, place, count: status.update(Text(_line(name, place, count)))


def _line(name: str, place: int, count: int) -> str:
    return f"run {place + 1} of {count}: {one_line(name)}" + (FIRST_RUN if place == 0 else "")


@contextmanager
def phased(quiet: bool) -> Iterator[tuple[Count, Callable[[str], None]]]:
    """One line for a whole study whose runs nobody can count beforehand: its phase by name, runs done, time taken."""
    console = Console(stderr=True)
    if quiet or not console.is_terminal:
        yield lambda done, goal: None, lambda phase: None
        return
    columns = (
        SpinnerColumn(), TextColumn("{task.description}", markup=False), TextColumn("{task.completed:,} runs done"),
        TimeElapsedColumn(),
    )  # fmt: skip
    with Bar(*columns, console=console, transient=True) as bar:
        task = bar.add_task("starting" + FIRST_RUN, total=None)
        yield (
            lambda done, goal: bar.update(task, completed=done),
            lambda phase: bar.update(task, description=one_line(phase)),
        )


@contextmanager
def counted(quiet: bool, which: str = "") -> Iterator[Count]:
    """A call that takes how many runs (`which` ones) are done and of how many, and shows them with the time left."""
    console = Console(stderr=True)
    if quiet or not console.is_terminal:
        yield lambda done, goal: None
        return
    columns = (
        TextColumn(f"runs {which}".strip()), MofNCompleteColumn(), BarColumn(), TimeElapsedColumn(),
        TextColumn("left"), TimeRemainingColumn(),
    )  # fmt: skip
    with Bar(*columns, console=console, transient=True) as bar:
        task = bar.add_task("runs", total=None)
        yield lambda done, goal: bar.update(task, completed=done, total=goal)
