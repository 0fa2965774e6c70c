"""`filterrun compare CASE`: every policy on the same weather, side by side, once or many times."""

from pathlib import Path
from typing import Any

import click

from sim.case.quantities import System
from sim.cli.many_options import Many, many_options
from sim.cli.options import (
    Output,
    all_option,
    case_argument,
    output_options,
    quiet_option,
    seed_option,
    units_option,
)


@click.command("compare")
@case_argument
@output_options
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
    json_file: str | None,
    units: System,
    seed: int,
    ranges: bool | None,
    everything: bool,
    stages: bool,
    quiet: bool,
    **many: Any,
) -> None:
    """Compare everything in CASE that can start a wash, on the same water.

    --out writes report.html, its figures as SVG and PNG, tables.xlsx, and in SI kpis.csv and runs.csv; of many runs
    kpis.csv, paired.csv, replicates.csv and example_runs.csv.
    """
    from sim.case.load import load_case

    output = Output(out=out, json_file=json_file, quiet=quiet, case_path=case_path)
    asked = Many(**many)
    asked.refuse_contradictions(output, ranges=ranges)
    case = load_case(case_path)
    output.refuse_if_unwritable(length=case.run.length)
    if asked.is_asked:
        from sim.cli.compare_many import compare_many

        compare_many(case, case_path, output, units, seed, asked, stages=stages, everything=everything)
    else:
        from sim.cli.compare_once import compare_once

        compare_once(
            case, case_path, output, units, seed, ranges=ranges is not False, workers=asked.workers, stages=stages,
            everything=everything,
        )  # fmt: skip
