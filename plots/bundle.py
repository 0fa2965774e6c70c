"""All files of a study that people look at, by name: figures, report, workbook."""

from collections.abc import Sequence

from plots.decision_inputs import DecisionReport
from plots.gallery import Drawing, draw_all
from plots.inputs import Head, Pictures, Report, Sheet
from plots.report import report_html
from plots.sheets import workbook


def files_of(
    pictures: Pictures, report: Report, sheets: Sequence[Sheet], head: Head, *, png: bool = False
) -> dict[str, str | bytes]:
    """Texts and bytes by file name; the same input gives the same bytes. `png`: each figure as PNG too."""
    return bundled(draw_all(pictures, png=png), report, sheets, head)


def bundled(
    drawings: Sequence[Drawing], report: Report | DecisionReport, sheets: Sequence[Sheet], head: Head
) -> dict[str, str | bytes]:
    """Report, workbook and every drawing by file name."""
    made: dict[str, str | bytes] = {"report.html": report_html(report, drawings, head)}
    made["tables.xlsx"] = workbook(sheets)
    for each in drawings:
        made |= each.files
    return made
