"""Options of a comparison over many runs."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import click

from sim.cli.options import Output

F = TypeVar("F", bound=Callable[..., Any])

MOST_REPLICATES, MOST_WORKERS = 100_000, 1024
FIRST_LOOK, AT_MOST = 20, 1000  # replicates, where --precision is given and nothing else is said


def many_options(function: F) -> F:
    """Add the options of many runs."""
    for option in reversed(_OPTIONS):
        function = option(function)
    return function


_OPTIONS = (
    click.option(
        "--replicates", type=click.IntRange(1, MOST_REPLICATES), metavar="N",
        help="Run everything N times under other weather, and tell means with intervals.",
    ),
    click.option(
        "--precision", multiple=True, metavar="KPI=REL",
        help="Go on until half of the 95 % interval is at most this share of the mean, as in drain_m3=0.02; or "
        "risk=0.05, as it stands. May be given several times.",
    ),
    click.option(
        "--at-most", type=click.IntRange(2, MOST_REPLICATES), metavar="N",
        help=f"The most replicates that --precision may take; {AT_MOST} if not given.",
    ),
    click.option("--uncertain", is_flag=True, help="Draw every assumed constant anew for each replicate."),
    click.option(
        "--workers", type=click.IntRange(1, MOST_WORKERS), metavar="K",
        help="Processes at work; if not given, one for each core, of a single run once that is worth it.",
    ),
    click.option("--cluster", metavar="ADDRESS", help="Have a running dask scheduler do the runs."),
    click.option(
        "--study", type=click.Path(path_type=Path), metavar="FILE",
        help="Keep every run in FILE, and take from it what is there already.",
    ),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Many:
    """What was asked for."""

    replicates: int | None
    precision: tuple[str, ...]
    at_most: int | None
    uncertain: bool
    workers: int | None
    cluster: str | None
    study: Path | None

    @property
    def is_asked(self) -> bool:
        """Whether there are to be many runs, or runs that are kept."""
        return (self.replicates or 1) > 1 or bool(self.precision) or self.uncertain or self.study is not None

    @property
    def first(self) -> int:
        """How many replicates to have at least."""
        return self.replicates or (FIRST_LOOK if self.precision else 1)

    @property
    def most(self) -> int:
        """How many to have at most."""
        return self.at_most or AT_MOST

    def refuse_contradictions(self, output: Output, *, ranges: bool | None) -> None:
        """RequestError for options that do not go together."""
        from sim.study.errors import RequestError

        if self.workers is not None and self.cluster is not None:
            raise RequestError("--workers and --cluster: who does the runs? Give one of them")
        if self.cluster is not None and self.replicates is None and not self.is_asked:
            raise RequestError("--cluster is for many runs: give --replicates, --precision or --study")
        if self.workers is not None and ranges is False and not self.is_asked:
            raise RequestError("--workers: with --no-ranges there are too few runs to share out; give --replicates")
        if self.at_most is not None and not self.precision:
            raise RequestError("--at-most says when --precision gives up: give both, or --replicates alone")
        if self.at_most is not None and self.at_most < self.first:
            raise RequestError(f"--at-most {self.at_most} is less than the {self.first} replicates to begin with")
        if ranges and self.is_asked:
            raise RequestError("--ranges is for a single run of each policy; for many runs there is --uncertain")
        output.refuse_as_study(self.study)
