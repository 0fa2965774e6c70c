"""`filterrun run CASE --policy NAME`: one run with its events, filter runs and ledger."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.case.quantities import System
from sim.cli.options import (
    Output,
    all_option,
    case_argument,
    quiet_option,
    report_options,
    seed_option,
    units_option,
)

if TYPE_CHECKING:  # loaded when the command runs
    from sim.case.records import Case
    from sim.study.explain import Explained


@click.command("run")
@case_argument
@click.option("--policy", required=True, metavar="NAME", help="What starts a wash: a policy of the case.")
@click.option("--week", type=click.IntRange(1), metavar="N", help="Week to draw and to list; else the worst.")
@click.option("--explain", "at", metavar="TIME", help="Say what goes on at TIME and why, and nothing else: "
              "2027-01-15T05:00, or day 12 05:00, the run's first day being day 1.")
@report_options
@units_option
@seed_option
@all_option
@quiet_option
def command(
    case_path: Path,
    policy: str,
    week: int | None,
    at: str | None,
    out: Path | None,
    png: bool,
    json_file: str | None,
    prepared_by: str,
    prepared_for: str,
    units: System,
    seed: int,
    everything: bool,
    quiet: bool,
) -> None:
    """Run CASE once: what its washes took and let through; with --all every event, filter run and where water went.

    --out writes report.html, its figures, tables.xlsx, and in SI log.csv, runs.csv and kpis.csv.
    """
    from sim.case.load import load_case
    from sim.cli.progress import watched
    from sim.cli.screen import screen
    from sim.cli.show_run import show
    from sim.study.single import require_policy, run

    output = Output(
        out=out, png=png, json_file=json_file, quiet=quiet, case_path=case_path, prepared_by=prepared_by,
        prepared_for=prepared_for, everything=everything,
    )  # fmt: skip
    case = load_case(case_path)
    require_policy(case, policy)
    if at is not None:
        _explain(case, policy, at, seed, units, output)
        return
    if week is not None:
        from sim.tell.run.week_view import require_week

        require_week(case, week)
    output.refuse_if_unwritable(length=case.run.length)
    with watched(quiet) as progress:
        progress(policy, 0, 1)
        single = run(case, policy, seed=seed)

    def tables() -> dict[str, str | bytes]:
        from sim.study.compare import Comparison
        from sim.study.frames import as_csv, kpi_table, log_table, run_table
        from sim.tell.comparison.files_of_one import report_files

        alone = Comparison(case=case, seed=seed, results=(single.result,))
        return report_files(alone, units, output.head, week=week, png=png) | {
            "log.csv": as_csv(log_table(single.result, case.run.start)),
            "runs.csv": as_csv(run_table([single.result], case.run.start)),
            "kpis.csv": as_csv(kpi_table([single.result])),
        }

    output.tell(lambda: show(screen(), single, units, week, everything=everything), single.to_json(), tables)


def _explain(case: "Case", policy: str, at: str, seed: int, units: System, output: Output) -> None:
    """Say what goes on at one moment, and nothing else."""
    from sim.cli.progress import watched
    from sim.study.asked_moment import asked_moment
    from sim.study.errors import RequestError
    from sim.study.explain import explain

    if output.out is not None:
        raise RequestError("--out with --explain: allowed: one of the two; try: --json FILE for what is explained")
    time = asked_moment(at, case)
    output.refuse_if_unwritable()
    with watched(output.quiet) as progress:
        progress(policy, 0, 1)
        told = explain(case, policy, time, seed=seed)
    output.tell(lambda: _show_explained(told, units), told.to_json(), dict)


def _show_explained(told: "Explained", system: System) -> None:
    """What every vessel, the unit and the tank are doing, and why."""
    from sim.cli.screen import screen, write
    from sim.tell.run.moment_words import paragraphs, title
    from sim.tell.sentences import at_the_plant, caution

    console = screen()
    write(console, told.case.title)
    write(console, title(told), strong=True)
    write(console)
    for each in paragraphs(told, system):
        write(console, each.name, strong=True)
        for sentence in each.sentences:
            write(console, sentence, indent=2)
        write(console)
    write(console, at_the_plant())
    write(console, caution())
