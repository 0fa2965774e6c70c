"""Every policy run once."""

from pathlib import Path
from time import perf_counter

from sim.case.records import Case
from sim.cli.options import Output
from sim.cli.progress import counted, watched
from sim.cli.screen import screen
from sim.cli.show_comparison import show
from sim.processes import interrupted_with
from sim.study.compare import compare
from sim.study.kpis import System
from sim.study.many.workers import local
from sim.study.ranking import STOPPED, range_test


def compare_once(
    case: Case, case_path: Path, output: Output, units: System, seed: int, *, ranges: bool, workers: int | None,
    stages: bool, everything: bool,
) -> None:  # fmt: skip
    """Run, write what is asked for, show; `workers` share out the ends of ranges."""
    begun: list[float] = []
    with watched(output.quiet) as progress:

        def told(name: str, place: int, count: int) -> None:
            begun.append(perf_counter())
            progress(name, place, count)

        comparison = compare(case, seed=seed, progress=told)
    last = perf_counter() - begun[-1]  # of a run, s: the first one has the program to load
    test = None
    if ranges and case.assumptions:
        ahead = 2 * len(case.assumptions) * len(case.policies) * last
        crews, counts = local(workers, ahead), counted(output.quiet, "at the ends of ranges")
        with interrupted_with(lambda: STOPPED), crews as crew, counts as count:
            test = range_test(case_path, case, comparison.results, crew, seed=seed, progress=count)
    def tables() -> dict[str, str | bytes]:
        from sim.study.run_frames import as_csv, kpi_table, run_table
        from sim.tell.comparison.files_of_one import report_files

        return report_files(comparison, units, test=test) | {
            "kpis.csv": as_csv(kpi_table(comparison.results)),
            "runs.csv": as_csv(run_table(comparison.results, case.run.start)),
        }

    output.write(comparison.to_json() | {"order": test.to_json() if test else None}, tables)
    if output.on_screen:
        show(screen(), comparison, units, test=test, stages=stages, everything=everything)
