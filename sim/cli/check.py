"""`filterrun check CASE`: whether the file is in order, what it leaves to be assumed, and a review of the design."""

from pathlib import Path

import click

from sim.case.quantities import System
from sim.cli.options import Output, all_option, case_argument, output_options, quiet_option, units_option


@click.command("check")
@case_argument
@output_options
@units_option
@all_option
@quiet_option
def command(
    case_path: Path, out: Path | None, json_file: str | None, units: System, everything: bool, quiet: bool
) -> None:
    """Read and validate CASE and review the design; nothing is run.

    --out writes assumed.csv, the constants that the case leaves out. Exit code 1 if a finding says stop.
    """
    from sim.cli.screen import screen
    from sim.cli.show_check import show
    from sim.study.check import check
    from sim.tell.review.finding_json import checked_json

    output = Output(out=out, json_file=json_file, quiet=quiet, case_path=case_path)
    checked = check(case_path)
    output.refuse_if_unwritable()

    def tables() -> dict[str, str]:
        from sim.study.frames import as_csv, assumed_table

        return {"assumed.csv": as_csv(assumed_table(checked.case))}

    output.tell(
        lambda: show(screen(), checked, case_path, units, everything=everything), checked_json(checked), tables
    )
    if checked.stops:
        click.get_current_context().exit(1)
