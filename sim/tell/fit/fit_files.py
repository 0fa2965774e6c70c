"""The files of a fit that people look at: figure, report, workbook."""

from collections.abc import Mapping, Sequence
from datetime import timedelta

import pandas as pd

from plots.bundle import bundled
from plots.decision_inputs import DecisionReport
from plots.fit import FitCourse, FitPicture, fit_drawing, left_of
from plots.inputs import Answer, Head, Measure, Sheet
from plots.words import Label, Name, label
from sim.case.quantities import QUANTITIES, System
from sim.case.records import Case
from sim.fit.constants import stage_of
from sim.fit.records import Course, Fit
from sim.fit.surer import Surer
from sim.study.version import PROGRAM, VERSION
from sim.tell.comparison.tables import text_table
from sim.tell.comparison.views import assumed_text_table
from sim.tell.decision.given import given_table
from sim.tell.fit.fit_screen import file_name, fit_listing, fit_screen, log_words, reading_term
from sim.tell.fit.wash_listing import wash_listing
from sim.tell.listing import Column, Listing, sources
from sim.tell.log.log_sheet import QUANTITY_OF
from sim.tell.present import amount_of
from sim.tell.sentences import assumed_count, caution


def fit_files(
    fit: Fit, case: Case, system: System, head: Head, surer: Surer | None = None
) -> Mapping[str, str | bytes]:
    """Report, workbook and figure by file name; the same fit gives the same bytes."""
    drawing = fit_drawing(fit_picture(fit, system))
    return bundled((drawing,), _report(fit, case, system, surer), _sheets(fit, case, system), head)


def fit_picture(fit: Fit, system: System) -> FitPicture:
    """What the figure is drawn from."""
    log = fit.log
    return FitPicture(
        start=log.start, end=log.start + timedelta(seconds=log.length),
        washes=tuple(log.start + timedelta(seconds=wash.start) for wash in log.washes),
        courses=tuple(_course(fit, each, system) for each in fit.predicted),
    )  # fmt: skip


def _course(fit: Fit, course: Course, system: System) -> FitCourse:
    reading = Measure(reading_term(course.what), QUANTITIES[QUANTITY_OF[course.what]].symbol(system))
    return FitCourse(reading=reading, left=left_of(reading), table=_timed(fit, course, system))


def _timed(fit: Fit, course: Course, system: System) -> pd.DataFrame:
    table = _shown(course, system)
    return table.assign(time=[fit.log.start + timedelta(seconds=each) for each in table["time"]])


def _shown(course: Course, system: System) -> pd.DataFrame:
    """Times [s] and readings in display units."""
    shown = QUANTITIES[QUANTITY_OF[course.what]]
    columns = {"read": course.read, "before": course.before, "after": course.after}
    values = {name: [shown.shown(each, system) for each in column] for name, column in columns.items()}
    return pd.DataFrame({"time": course.times, **values}, dtype=float)


def _report(fit: Fit, case: Case, system: System, surer: Surer | None) -> DecisionReport:
    told, stage = fit_screen(fit, case, system, surer), stage_of(fit, case)
    answer = Answer(
        sentences=told.answer, table=text_table(label("fit.constants"), fit_listing(fit, stage, system)),
        notes=told.foot, change=(),
    )  # fmt: skip
    return DecisionReport(
        title=told.title, simulated=log_words(fit), facts=_facts(fit, case), answer=answer,
        given=given_table(case, system), sentences=told.open,
        tables=(
            text_table(label("fit.noise"), _noise(fit, system)),
            text_table(label("fit.washes"), wash_listing(fit.log, len(fit.log.washes))),
        ),
        notes=(), cautions=(), order=(), spread=None, assumed=assumed_count(case.assumptions),
        assumptions=assumed_text_table(case, system), sources=sources(case.assumptions),
    )  # fmt: skip


def _noise(fit: Fit, system: System) -> Listing:
    """How far readings lie from the fitted model, by kind."""
    heads = (Column(label("fit.reading"), "words"), Column(label("fit.count"), "numbers"),
             Column(label("fit.spread"), "numbers"))  # fmt: skip
    rows = tuple(
        (reading_term(each.what), str(each.count), amount_of(each.sd, QUANTITY_OF[each.what], system, 2))
        for each in fit.noise
    )
    return Listing(columns=heads, rows=rows)


def _facts(fit: Fit, case: Case) -> tuple[tuple[Label, str], ...]:
    return (
        (label("decision_report.program"), f"{PROGRAM} {VERSION}"),
        (label("decision_report.case"), case.title),
        (label("decision_report.hash"), case.source_hash),
        (label("fit.log"), file_name(fit.log)),
        (label("fit.runs"), str(fit.evaluations)),
    )


def _sheets(fit: Fit, case: Case, system: System) -> tuple[Sheet, ...]:
    stage = stage_of(fit, case)
    about = [(label("decision_report.caution"), caution()), *_facts(fit, case)]
    heads = (label("decision_report.what"), label("decision_report.is"))
    return (
        Sheet(name=label("fit.constants"), table=_table(fit_listing(fit, stage, system))),
        *(Sheet(name=reading_term(each.what), table=_readings(fit, each, system)) for each in fit.predicted),
        Sheet(name=label("fit.washes"), table=_table(wash_listing(fit.log, len(fit.log.washes)))),
        Sheet(name=label("decision_report.about_sheet"), table=_frame(about, heads)),
    )


def _readings(fit: Fit, course: Course, system: System) -> pd.DataFrame:
    table, unit = _timed(fit, course, system), Name(QUANTITIES[QUANTITY_OF[course.what]].symbol(system))
    heads = {
        "time": label("fit.time"), "read": label("fit.read_in", unit=unit),
        "before": label("fit.by_case_in", unit=unit), "after": label("fit.by_fit_in", unit=unit),
    }  # fmt: skip
    return table.rename(columns=heads)


def _table(listing: Listing) -> pd.DataFrame:
    return _frame(listing.rows, [each.head or " " for each in listing.columns])


def _frame(rows: Sequence[Sequence[str]], heads: Sequence[str]) -> pd.DataFrame:
    return pd.DataFrame([list(row) for row in rows], columns=list(heads), dtype=object)
