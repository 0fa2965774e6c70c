"""What a person sees while a run goes on: a line on the terminal, gone when the run is over."""

from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.text import Text

from sim.cli.screen import one_line
from sim.study.compare import Progress

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
