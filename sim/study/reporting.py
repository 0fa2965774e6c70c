"""All files of a study that people look at: figures, report and workbook."""

from collections.abc import Sequence
from typing import NamedTuple

from plots.bundle import files_of
from plots.inputs import Pictures, Report, Sheet
from sim.study.book import sheets
from sim.study.compare import Comparison
from sim.study.kpis import System
from sim.study.views import pictures, report
from sim.study.weeks import weeks, worst_week


class Material(NamedTuple):
    """What the files are made from."""

    pictures: Pictures
    report: Report
    sheets: tuple[Sheet, ...]


def material(comparison: Comparison, system: System, *, order: Sequence[str] = ()) -> Material:
    """Pictures, text and tables of a comparison; nothing that is drawn or written changes a result."""
    case = comparison.case
    known = tuple(
        week
        for each in comparison.results
        for week in weeks(case, each.policy, seed=each.seed, replicate=each.replicate)
    )
    worst, over_limit = worst_week(known)
    drawn = pictures(comparison, worst, system)
    text = report(comparison, worst, over_limit=over_limit, system=system, order=order)
    return Material(drawn, text, sheets(comparison, drawn, known, system))


def report_files(comparison: Comparison, system: System, *, order: Sequence[str] = ()) -> dict[str, str | bytes]:
    """Texts and bytes by file name, in the display units of `system`.

    A comparison of one result is a report on one run. `order` says whether the order of the policies rests on assumed
    constants.
    """
    return files_of(*material(comparison, system, order=order))
