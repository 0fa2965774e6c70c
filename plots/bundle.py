"""All files of a study that people look at, by name: figures, report, workbook."""

from collections.abc import Sequence

from plots.gallery import draw_all
from plots.inputs import Pictures, Report, Sheet
from plots.report import report_html
from plots.sheets import workbook
from plots.words import words


def files_of(pictures: Pictures, report: Report, sheets: Sequence[Sheet]) -> dict[str, str | bytes]:
    """Texts and bytes by file name; the same input gives the same bytes."""
    spoken = words()
    drawings = draw_all(pictures, spoken)
    made: dict[str, str | bytes] = {"report.html": report_html(report, drawings, spoken)}
    made["tables.xlsx"] = workbook(sheets)
    for each in drawings:
        made |= {f"{each.name}.svg": each.svg, f"{each.name}.png": each.png}
    return made
