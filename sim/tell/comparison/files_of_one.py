"""All files of a study that people look at: figures, report and workbook."""

from collections.abc import Sequence
from typing import NamedTuple

from plots.bundle import files_of
from plots.inputs import Head, Pictures, Report, Sheet
from sim.case.quantities import System
from sim.study.compare import Comparison
from sim.study.ranking import RangeTest
from sim.study.weeks import Week, weeks, worst_week
from sim.tell.comparison.views import pictures, report
from sim.tell.workbook import sheets


class Material(NamedTuple):
    """What the files are made from."""

    pictures: Pictures
    report: Report
    sheets: tuple[Sheet, ...]


def material(
    comparison: Comparison, system: System, *, test: RangeTest | None = None, week: int | None = None
) -> Material:
    """Pictures, text and tables of a comparison; nothing that is drawn or written changes a result.

    `week` is the number of the one to tell in detail, of the worst if None.
    """
    case = comparison.case
    known = comparison.weeks or tuple(
        week
        for each in comparison.results
        for week in weeks(case, each.policy, seed=each.seed, replicate=each.replicate)
    )
    told, over_limit = _told(known, week)
    drawn = pictures(comparison, told, system, over_limit=over_limit)
    text = report(comparison, told, over_limit=over_limit, system=system, test=test)
    return Material(drawn, text, sheets(comparison, drawn, known, system))


def report_files(
    comparison: Comparison, system: System, head: Head, *, test: RangeTest | None = None, week: int | None = None,
    png: bool = False,
) -> dict[str, str | bytes]:
    """Texts and bytes by file name, in the display units of `system`.

    A comparison of one result is a report on one run. `test` knows the ranges of what is assumed;
    `week` as `material`; `png`: each figure as PNG too.
    """
    return files_of(*material(comparison, system, test=test, week=week), head, png=png)


def _told(known: Sequence[Week], number: int | None) -> tuple[Week, bool | None]:
    """The week to tell in detail; whether it had the most time over the limit, None where it was asked for."""
    if number is None:
        return worst_week(known)
    return next(week for week in known if week.number == number), None
