"""`filterrun faults CASE`: every way to start a wash under every fault that the case can have."""

from pathlib import Path

import click

from plots.words import Code, label
from sim.case.quantities import System
from sim.cli.options import (
    Output,
    all_option,
    case_argument,
    figure_options,
    quiet_option,
    seed_option,
    study_option,
    units_option,
    workers_option,
)


@click.command("faults")
@case_argument
@click.option(
    "--from", "first", metavar="DAY", help="The day on which each fault begins, as in 2027-08-01 or day 30; if not "
    "given, one in the middle of the run.",
)
@click.option(
    "--days", type=click.IntRange(1, 366), default=30, show_default=True, metavar="N",
    help="How long a fault stays unnoticed.",
)
@click.option("--policy", "policies", multiple=True, metavar="NAME", help="Only this policy of the case; repeatable.")
@figure_options
@units_option
@seed_option
@workers_option(help="one for each core once that is worth it")
@study_option
@all_option
@quiet_option
def command(
    case_path: Path,
    first: str | None,
    days: int,
    policies: tuple[str, ...],
    out: Path | None,
    png: bool,
    json_file: str | None,
    units: System,
    seed: int,
    workers: int | None,
    study: Path | None,
    everything: bool,
    quiet: bool,
) -> None:
    """Run everything in CASE that can start a wash under every fault that its devices can have, one at a time.

    Says what each fault costs, and after how many daily readings it would be noticed, by which. --out writes
    faults.csv in SI, and a figure.
    """
    from sim.case.load import load_case
    from sim.cli.progress import counted
    from sim.cli.screen import screen
    from sim.cli.show_faults import show
    from sim.processes import interrupted_with
    from sim.study.faults import first_day, study_faults
    from sim.study.many.study_file import study_file
    from sim.study.many.workers import local
    from sim.study.single import require_policy

    output = Output(out=out, png=png, json_file=json_file, quiet=quiet, case_path=case_path)
    case = load_case(case_path)
    for name in policies:
        require_policy(case, name)
    start = first_day(first, case, days)
    output.refuse_if_unwritable()
    output.refuse_as_study(study)
    crews, counts = local(workers), counted(quiet)
    with interrupted_with(lambda: _stopped(study)), study_file(study) as kept, crews as crew, counts as progress:
        found = study_faults(
            case, crew, seed=seed, start=start, days=days, policies=policies, kept=kept, progress=progress
        )

    def tables() -> dict[str, str | bytes]:
        from sim.tell.faults.fault_files import fault_files

        return fault_files(found, units, png=png)

    output.tell(lambda: show(screen(), found, units, everything=everything), found.to_json(), tables)


def _stopped(study: Path | None) -> str:
    """That a person stopped the runs, and whether those that are done are kept."""
    if study is None:
        return label("phase.lost", option=Code("--study"))
    return label("phase.kept", file=Code(str(study)))
