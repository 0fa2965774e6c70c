"""`filterrun compare CASE`: every policy on the same weather, side by side."""

from pathlib import Path

import click

from sim.cli.options import Output, case_argument, output_options, quiet_option, seed_option, units_option
from sim.study.kpis import System


@click.command("compare")
@case_argument
@output_options
@units_option
@seed_option
@click.option("--ranges/--no-ranges", default=True, help="Try every assumed constant at both ends of its range.")
@quiet_option
def command(
    case_path: Path, out: Path | None, json_file: str | None, units: System, seed: int, ranges: bool, quiet: bool
) -> None:
    """Compare everything in CASE that can start a wash, on the same water.

    --out writes report.html, its figures as SVG and PNG, tables.xlsx, and in SI kpis.csv and runs.csv.
    """
    from sim.case.load import load_case
    from sim.cli.progress import watched
    from sim.cli.screen import screen
    from sim.cli.show_comparison import show
    from sim.study.compare import compare
    from sim.study.range_words import range_words
    from sim.study.ranking import range_test

    output = Output(out=out, json_file=json_file, quiet=quiet, case_path=case_path)
    case = load_case(case_path)
    output.refuse_if_unwritable()
    with watched(quiet) as progress:
        comparison = compare(case, seed=seed, progress=progress)
        test = None
        if ranges and case.assumptions:
            test = range_test(case_path, case, comparison.results, seed=seed, progress=progress)
    order = range_words(test) if test else ()

    def tables() -> dict[str, str | bytes]:
        from sim.study.reporting import report_files
        from sim.study.tables import as_csv, kpi_table, run_table

        return report_files(comparison, units, order=order) | {
            "kpis.csv": as_csv(kpi_table(comparison.results)),
            "runs.csv": as_csv(run_table(comparison.results, case.run.start)),
        }

    output.write(comparison.to_json() | {"order": test.to_json() if test else None}, tables)
    if output.on_screen:
        show(screen(), comparison, units, order)
