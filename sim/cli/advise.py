"""`filterrun advise CASE`: the settings of least cost or water that keep some limits."""

from pathlib import Path
from typing import Any

import click

from sim.case.quantities import System
from sim.cli.decide_options import Asked, decide_options
from sim.cli.options import (
    Output,
    all_option,
    case_argument,
    quiet_option,
    report_options,
    seed_option,
    units_option,
)


@click.command("advise")
@case_argument
@decide_options
@click.option("--seasons/--no-seasons", default=True, help="Also one setting a year against two or four.")
@report_options
@units_option
@seed_option
@all_option
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
    everything: bool,
    quiet: bool,
    seasons: bool,
    **options: Any,
) -> None:
    """For everything in CASE that can start a wash, the setting of least cost or least water that keeps some limits.

    Settings are sought in random weather of their own and confirmed in other weather. --out writes report.html, its
    figures, and tables.xlsx.
    """
    output = Output(
        out=out, png=png, json_file=json_file, quiet=quiet, case_path=case_path, prepared_by=prepared_by,
        prepared_for=prepared_for, everything=everything,
    )  # fmt: skip
    asked = Asked(**options)
    wishes = asked.wishes(units)
    from sim.cli.decide_runs import advise_runs

    advise_runs(case_path, output, units, seed, asked, wishes, seasons=seasons, everything=everything)
