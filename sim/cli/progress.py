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

from plots import words
from plots.words import Label, Name, label, say
from sim.cli.screen import one_line
from sim.study.compare import Progress, plain_first
from sim.study.many.repeat import Count


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
            yield lambda name, place, count: status.update(Text(_line(name, place, count)))


def _line(name: str, place: int, count: int) -> Label:
    number, every, run = words.count(place + 1), words.count(count), Name(one_line(name))
    if place == 0:
        return label("progress.first_run", number=number, every=every, run=run)
    return label("progress.run", number=number, every=every, run=run)


@contextmanager
def phased(quiet: bool) -> Iterator[tuple[Count, Callable[[str], None]]]:
    """One line for a whole study whose runs nobody can count beforehand: its phase by name, runs done, time taken."""
    console = Console(stderr=True)
    if quiet or not console.is_terminal:
        yield lambda done, goal: None, lambda phase: None
        return
    done = TextColumn(label("progress.done") + " {task.completed:,}")
    columns = (
        SpinnerColumn(), TextColumn("{task.description}", markup=False), done, TimeElapsedColumn(),
    )  # fmt: skip
    with Bar(*columns, console=console, transient=True) as bar:
        task = bar.add_task(label("progress.starting"), total=None)
        yield (
            lambda done, goal: bar.update(task, completed=done),
            lambda phase: bar.update(task, description=one_line(phase)),
        )


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
