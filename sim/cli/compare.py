"""`filterrun compare CASE`: every policy on the same weather, side by side, once or many times."""

from contextlib import suppress
from pathlib import Path
from time import perf_counter
from typing import TYPE_CHECKING, Any

import click

from sim.case.quantities import System
from sim.case.record import record
from sim.cli.options import (
    MOST_REPLICATES,
    Output,
    adding,
    all_option,
    case_argument,
    quiet_option,
    report_options,
    say_plainly,
    seed_option,
    study_option,
    units_option,
    workers_option,
)

if TYPE_CHECKING:  # loaded when the command runs
    from sim.case.records import Case

PLAIN_AT_MOST = 61 * 86_400.0  # s: the longest run that is worth its time in plain Python
FIRST_DAYS = "14 d"  # of a longer one, for a first answer while compiled code is made
WORTH_SAYING = 20.0  # s of runs at the ends of ranges, before which a first answer is said
FIRST_LOOK, AT_MOST = 20, 1000  # replicates, where --precision is given and nothing else is said


many_options = adding((
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
    workers_option(help="one for each core, of a single run once that is worth it"),
    click.option("--cluster", metavar="ADDRESS", help="Have a running dask scheduler do the runs."),
    study_option,
))  # fmt: skip


@record
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


@click.command("compare")
@case_argument
@report_options
@units_option
@seed_option
@click.option(
    "--ranges/--no-ranges",
    default=None,
    help="Try every assumed constant at both ends of its range; done unless there are many runs.",
)
@many_options
@all_option
@click.option("--stages", is_flag=True, help="Show the first figures of every stage too.")
@quiet_option
def command(
    case_path: Path,
    out: Path | None,
    png: bool,
    json_file: str | None,
    prepared_by: str,
    prepared_for: str,
    units: System,
    seed: int,
    ranges: bool | None,
    everything: bool,
    stages: bool,
    quiet: bool,
    **many: Any,
) -> None:
    """Compare everything in CASE that can start a wash, on the same water.

    --out writes report.html, its figures, tables.xlsx, and in SI kpis.csv and runs.csv; of many runs
    kpis.csv, paired.csv, replicates.csv and example_runs.csv.
    """
    from sim.case.load import load_case

    output = Output(
        out=out, png=png, json_file=json_file, quiet=quiet, case_path=case_path, prepared_by=prepared_by,
        prepared_for=prepared_for, everything=everything,
    )  # fmt: skip
    asked = Many(**many)
    asked.refuse_contradictions(output, ranges=ranges)
    case = load_case(case_path)
    output.refuse_if_unwritable(length=case.run.length)
    if asked.is_asked:
        _compare_many(case, case_path, output, units, seed, asked, stages=stages, everything=everything)
    else:
        _compare_once(
            case, case_path, output, units, seed, ranges=ranges is not False, workers=asked.workers, stages=stages,
            everything=everything,
        )  # fmt: skip


def _compare_once(
    case: "Case", case_path: Path, output: Output, units: System, seed: int, *, ranges: bool, workers: int | None,
    stages: bool, everything: bool,
) -> None:  # fmt: skip
    """Run, write what is asked for, show; `workers` share out the ends of ranges."""
    from sim.case.load import load_case
    from sim.cli.progress import counted, watched
    from sim.cli.screen import screen
    from sim.cli.show_comparison import show
    from sim.errors import CaseError
    from sim.processes import interrupted_with
    from sim.study.compare import all_compiled, compare, is_lacking
    from sim.study.many.workers import local
    from sim.study.ranking import range_test, stopped
    from sim.tell.comparison.first_screen import answered_early
    from sim.tell.comparison.range_json import range_json

    plain = case.run.length <= PLAIN_AT_MOST
    if not plain and is_lacking():
        with suppress(CaseError), watched(output.quiet) as progress:
            part = compare(load_case(case_path, {"run.length": FIRST_DAYS}), seed=seed, progress=progress)
            if output.on_screen:
                say_plainly(answered_early(part, units, part=True))
    begun: list[float] = []
    with watched(output.quiet, plain=plain) as progress:

        def told(name: str, place: int, count: int) -> None:
            begun.append(perf_counter())
            progress(name, place, count)

        comparison = compare(case, seed=seed, progress=told, weekly=output.out is not None)
    last = perf_counter() - begun[-1]  # of a run, s: the first one has the program to load
    test = None
    if ranges and case.ranged:
        ahead = 2 * len(case.ranged) * len(case.policies) * last
        waits = plain and not all_compiled()  # these runs do, for compiled code
        if output.on_screen and (waits or ahead > WORTH_SAYING):
            say_plainly(answered_early(comparison, units))
        ahead = 0.0 if waits else ahead
        crews, counts = local(workers, ahead), counted(output.quiet, ends=True)
        with interrupted_with(lambda: str(stopped())), crews as crew, counts as count:
            test = range_test(case_path, case, comparison.results, crew, seed=seed, progress=count)

    def tables() -> dict[str, str | bytes]:
        from sim.study.frames import as_csv, kpi_table, run_table
        from sim.tell.comparison.files_of_one import report_files

        return report_files(comparison, units, output.head, test=test, png=output.png) | {
            "kpis.csv": as_csv(kpi_table(comparison.results)),
            "runs.csv": as_csv(run_table(comparison.results, case.run.start)),
        }

    output.tell(
        lambda: show(screen(), comparison, units, test=test, stages=stages, everything=everything),
        comparison.to_json() | {"order": range_json(test) if test else None}, tables,
    )  # fmt: skip


def _compare_many(
    case: "Case", case_path: Path, output: Output, units: System, seed: int, asked: Many, *, stages: bool,
    everything: bool,
) -> None:  # fmt: skip
    """Run or take from the study file, write what is asked for, show."""
    from sim.cli.progress import counted, watched
    from sim.cli.screen import screen
    from sim.cli.show_comparison import show_many
    from sim.study.compare import compare
    from sim.study.doubts import doubt_json
    from sim.study.many.doubts_of_many import doubts_of
    from sim.study.many.draws import Draws
    from sim.study.many.precision import precision_of
    from sim.study.many.repeat import repeat
    from sim.study.many.study_file import study_file
    from sim.study.many.workers import cluster, local, usable_cores
    from sim.tell.kpis import KPIS

    precision = [precision_of(text, KPIS) for text in asked.precision]
    workers = cluster(asked.cluster) if asked.cluster else local(asked.workers or usable_cores())
    with study_file(asked.study) as kept, workers as crew:
        with watched(output.quiet, plain=False) as told:  # leaves compiled code where workers of this machine find it
            example = compare(case, seed=seed, progress=told)
        with counted(output.quiet) as progress:
            repeated = repeat(
                case, crew, seed=seed, replicates=asked.first, at_most=asked.most, precision=precision, kept=kept,
                draws=Draws(case_path, case, seed) if asked.uncertain else None, progress=progress,
            )  # fmt: skip

    def tables() -> dict[str, str | bytes]:
        from sim.tell.comparison.files_of_many import repeated_files

        return repeated_files(repeated, example, units, output.head, png=output.png)

    found = [doubt_json(each) for each in doubts_of(repeated)]
    output.tell(
        lambda: show_many(screen(), repeated, units, stages=stages, everything=everything),
        repeated.to_json() | {"doubts": found}, tables,
    )  # fmt: skip
