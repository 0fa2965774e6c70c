"""`filterrun fit LOG CASE`: the constants of a filter from the plant's own log, and a case with them."""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plots.words import label
from sim.case.quantities import System
from sim.cli.log_options import log_and_stage, log_options
from sim.cli.options import Output, quiet_option, say_plainly, units_option, written

if TYPE_CHECKING:  # loaded when the command runs
    from sim.case.records import Case
    from sim.fit.records import Fit
    from sim.fit.surer import Surer


@click.command("fit")
@click.argument("paths", metavar="[LOG] CASE", nargs=-1, required=True, type=click.Path(path_type=Path))
@log_options
@click.option(
    "--ranges/--no-ranges", default=True, help="Compare both cases over all ranges, which says how much surer the "
    "answer is.",
)
@click.option("--out", "target", metavar="FILE", type=click.Path(path_type=Path), help="Write the fitted case here.")
@click.option("--force", is_flag=True, help="Write over the file of --out if it exists.")
@click.option(
    "--report", metavar="DIR", type=click.Path(path_type=Path), help="Write a report, a workbook and a figure into "
    "this folder.",
)
@click.option(
    "--blank-log", "blank", metavar="FILE", type=click.Path(path_type=Path),
    help="In place of a fit, write a sheet of 31 days to print for a log of CASE by hand.",
)
@click.option(
    "--json", "json_file", metavar="FILE", help="Write the result as JSON, to standard output if FILE is -."
)
@units_option
@quiet_option
def command(
    paths: tuple[Path, ...], ranges: bool, target: Path | None, force: bool, report: Path | None,
    blank: Path | None, json_file: str | None, units: System, quiet: bool, **given: Any,
) -> None:  # fmt: skip
    """Fit the constants of a filter of CASE to LOG, the plant's own readings.

    LOG is a CSV file, a workbook (.xlsx), or a case (.toml) with readings: time, flow or total, pressure drop, and
    what else the plant reads. The new case has each constant that the log settles, with its 95 % interval as its
    range; what the log cannot settle stays as it is, and the reading that would settle it is named.
    """
    from sim.case.load import load_case
    from sim.case.source import read_text
    from sim.cli.progress import phased
    from sim.fit.fit import fit_log
    from sim.study.errors import RequestError
    from sim.study.whole_files import write_all
    from sim.write.anew import as_stored
    from sim.write.from_fit import written_from

    if len(paths) != (2 if blank is None else 1):
        raise RequestError("fit takes LOG and CASE; or CASE alone with --blank-log")
    case_path = paths[-1]
    if blank is not None:
        _write_blank(blank, case_path, units, force=force, quiet=quiet)
        return
    output = Output(out=report, json_file=json_file, quiet=quiet, case_path=case_path)
    case = load_case(case_path)
    output.refuse_if_unwritable()
    _refuse_place(target, case_path, force=force)
    log, stage = log_and_stage(paths[0], case, given, quiet=quiet or json_file == "-")
    with phased(quiet) as phases:
        phases.phase(label("fit.phase"), "fit", 1, 1)
        fit = fit_log(log, case, stage, progress=lambda runs: phases.runs(runs, 0))
    place = target or case_path
    text = written_from(read_text(case_path), case_path, place, fit)
    surer = _surer(case_path, case, text, place, quiet=quiet) if ranges else None

    def tables() -> Mapping[str, str | bytes]:
        from sim.tell.fit.fit_files import fit_files

        return fit_files(fit, case, units, output.head, surer)

    if target is not None:
        write_all({target: as_stored(text, case_path)})
    _tell(output, fit, case, units, surer, tables, target)


def _tell(
    output: Output, fit: "Fit", case: "Case", units: System, surer: "Surer | None", tables: Any, target: Path | None
) -> None:
    from sim.cli.screen import screen
    from sim.cli.show_fit import show
    from sim.tell.fit.fit_json import fit_json
    from sim.tell.fit.fit_screen import fit_screen

    told = fit_screen(fit, case, units, surer)
    output.tell(lambda: show(screen(), told, target), fit_json(fit, case, surer), tables)


def _write_blank(blank: Path, case_path: Path, units: System, *, force: bool, quiet: bool) -> None:
    """The sheet for a log by hand."""
    from sim.case.load import load_case
    from sim.study.whole_files import write_all
    from sim.tell.log.log_sheet import blank_log

    _refuse_place(blank, case_path, force=force)
    write_all({blank: blank_log(load_case(case_path), units)})
    if not quiet:
        say_plainly(written([blank]))


def _refuse_place(target: Path | None, case_path: Path, *, force: bool) -> None:
    """RequestError, before anything is read, if a file cannot or shall not be written."""
    from sim.study.errors import RequestError
    from sim.study.whole_files import require_place

    if target is None:
        return
    if os.path.lexists(target) and os.path.realpath(target) == os.path.realpath(case_path):
        raise RequestError(f"{target} is the case itself; try: a name of its own")
    if os.path.lexists(target) and not force:
        raise RequestError(f"{target} exists and is left as it is; --force writes over it")
    require_place(target)


def _surer(path: Path, case: "Case", text: str, target: Path, *, quiet: bool) -> "Surer":
    from sim.cli.progress import counted
    from sim.fit.surer import surer
    from sim.processes import interrupted_with
    from sim.study.many.workers import local
    from sim.study.ranking import stopped

    with interrupted_with(lambda: str(stopped())), local(None) as crew, counted(quiet, ends=True) as progress:
        return surer(path, case, text, target, crew, progress=progress)
