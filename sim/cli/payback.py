"""`filterrun payback CASE`: what a meter or a pressure switch is worth against the best calendar."""

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


@click.command("payback")
@case_argument
@decide_options
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
    **options: Any,
) -> None:
    """What a meter or a pressure switch is worth: the calendar of today, the best calendar, and each of them.

    Prices are those of the table [prices] in CASE; where they are blank, it shows volumes, hours and the price at
    which a device pays. --out writes report.html, its figures, and tables.xlsx.
    """
    output = Output(
        out=out, png=png, json_file=json_file, quiet=quiet, case_path=case_path, prepared_by=prepared_by,
        prepared_for=prepared_for, everything=everything,
    )  # fmt: skip
    asked = Asked(**options)
    wishes = asked.wishes(units)
    from sim.cli.decide_runs import payback_runs

    payback_runs(case_path, output, units, seed, asked, wishes, everything=everything)
