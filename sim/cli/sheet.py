"""`filterrun sheet CASE --policy NAME --out DIR`: the settings sheet, for whoever sets the filters."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from sim.case.quantities import System
from sim.cli.options import (
    Folder,
    Output,
    case_argument,
    head_options,
    quiet_option,
    say_plainly,
    seed_option,
    units_option,
)

if TYPE_CHECKING:  # loaded when the command runs
    from plots.paper import Paper
    from sim.study.check import Checked


@click.command("sheet")
@case_argument
@click.option("--policy", required=True, metavar="NAME", help="What starts a wash: a policy of the case.")
@click.option("--out", required=True, metavar="DIR", type=Folder(path_type=Path), help="Folder to write to.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Its size.")
@click.option("--against", "old_path", metavar="OLD", type=click.Path(path_type=Path), help="The case as it was set "
              "before: the sheet then says what each setting was; if not given, what is in use today.")
@click.option("--pdf", is_flag=True, help="Fail where no PDF can be made; without it the HTML is written alone.")
@head_options
@units_option
@seed_option
@quiet_option
def command(
    case_path: Path,
    policy: str,
    out: Path,
    paper: "Paper",
    old_path: Path | None,
    pdf: bool,
    prepared_by: str,
    prepared_for: str,
    units: System,
    seed: int,
    quiet: bool,
) -> None:
    """Write the settings sheet of one policy: what to set at each filter and why, what to read each day.

    Writes settings_sheet.html and commissioning.html, what to test and measure once it is set, both as PDF too (where
    weasyprint is installed), log_sheet.html for a month of readings, and sheet.json in SI. Exit code 1, and nothing
    written, while a finding of `check` says stop.
    """
    from plots.paper import can_make_pdf, paper_files
    from plots.sheet import sheet_html
    from plots.words import say
    from sim.cli.progress import watched
    from sim.study.changes import against
    from sim.study.check import check
    from sim.study.errors import RequestError
    from sim.study.sheet_runs import sheet_runs
    from sim.study.single import require_policy
    from sim.study.whole_files import as_json
    from sim.tell.log.log_sheet import blank_log
    from sim.tell.sheet.changed_words import changed_part
    from sim.tell.sheet.commissioning import commissioning
    from sim.tell.sheet.sheet_json import sheet_json
    from sim.tell.sheet.sheet_words import sheet_of

    output = Output(out=out, json_file=None, quiet=quiet, case_path=case_path, prepared_by=prepared_by,
                    prepared_for=prepared_for)  # fmt: skip
    checked = check(case_path)
    case = checked.case
    require_policy(case, policy)
    if pdf and not can_make_pdf():
        raise RequestError('--pdf: weasyprint is not installed; try: python -m pip install "filterrun[pdf]"')
    if checked.stops:
        _refuse(checked, units)
    output.refuse_if_unwritable(length=case.run.length)
    with watched(quiet) as progress:
        before = None if old_path is None else against(old_path, case_path, policy, seed=seed)
        runs = sheet_runs(case, policy, seed=seed, progress=progress)
        to_measure = commissioning(runs, case_path, units, paper, progress)
    old, changed = None if case.today in (None, policy) else (case, str(case.today)), None
    if before is not None and old_path is not None:
        old, changed = (before.old, before.policy), changed_part(before, old_path.name, units)
    html = sheet_html(replace(sheet_of(runs, units, old), changed=changed), output.head, paper)
    with_pdf = can_make_pdf()
    output.write({}, lambda: {
        **paper_files("settings_sheet", html, pdf=with_pdf), **paper_files("commissioning", to_measure, pdf=with_pdf),
        "log_sheet.html": blank_log(case, units), "sheet.json": as_json(sheet_json(runs)),
    })  # fmt: skip
    if not with_pdf:  # none of another sheet may stay beside this one
        for name in ("settings_sheet.pdf", "commissioning.pdf"):
            (out / name).unlink(missing_ok=True)
    if not with_pdf and not quiet:
        say_plainly(say("sheet.no_pdf"))


def _refuse(checked: "Checked", units: System) -> None:
    """End with the findings that say stop."""
    from plots.words import colon, say
    from sim.tell.review.finding_words import finding_words, place_words, worst_first

    for first, *_ in worst_first(checked.findings):
        if first.level == "stop":
            found, to_do = finding_words(first, (), checked.case, units)
            say_plainly(f"{place_words(first)}{colon()}{found}\n    {to_do}")
    say_plainly(say("sheet.refused"))
    click.get_current_context().exit(1)
