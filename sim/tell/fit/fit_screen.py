"""A fit in words: the answer, what was fitted, what the log leaves open and the reading that would settle it."""

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Literal

from plots.words import (
    Amount,
    Code,
    Kind,
    Label,
    Name,
    Number,
    Sentence,
    Term,
    amount,
    count,
    dated,
    in_days,
    items,
    label,
    localised,
    number,
    say,
    span,
    term,
)
from sim.case.quantities import System
from sim.case.record import record
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.units import DAY
from sim.fit.constants import as_case_has_it, stage_of, valve_flow
from sim.fit.records import Constant, Course, Fit, Fitted, Need
from sim.fit.surer import Span, Surer
from sim.log.records import Log, What
from sim.tell.comparison.leading import named
from sim.tell.kpis import KPIS
from sim.tell.listing import Column, Listing
from sim.tell.log.log_sheet import QUANTITY_OF
from sim.tell.present import ABSENT, UNITS, amount_of, constant, written
from sim.tell.review.told_words import remedy_words

Change = Literal["narrower", "wider"]
"""What a fit does to a range."""
Left = Literal["none", "lower", "upper"]
"""What a log says of a constant that it does not settle."""


@record
class FitScreen:
    """What stands on the first screen of a fit, in this order; of `open` as much as there is room for."""

    title: str
    answer: tuple[Sentence, ...]
    table: Listing
    open: tuple[Sentence, ...]
    foot: tuple[Sentence, ...]


def fit_screen(fit: Fit, case: Case, system: System, surer: Surer | None = None) -> FitScreen:
    """All of it; `case` is the one that was fitted."""
    stage = stage_of(fit, case)
    answer = (*_answer(fit, system), *_law(fit, stage), *_surer(fit, surer, system), *_held_out(fit, system))
    return FitScreen(
        title=label("fit.title", title=Name(case.title), stage=Name(fit.stage), file=file_name(fit.log)),
        answer=(answer[0], log_words(fit), *answer[1:]),
        table=fit_listing(fit, stage, system),
        open=tuple(_open(fit, stage, system)),
        foot=(*remedy_words(fit.log.remedies), say("fit.only_here")),
    )


def log_words(fit: Fit) -> Sentence:
    """How long the log is, how many washes it has, and how many readings of what the fit is first judged by."""
    log, course = fit.log, main_course(fit)
    length, start = in_days(round(log.length / DAY, 1)), dated(log.start.date(), "day_year")
    if course is None:
        return say("fit.log_alone", length=length, start=start, washes=count(len(log.washes)))
    readings = count(len(course.times))
    return say(
        "fit.log", length=length, start=start, washes=count(len(log.washes)), readings=readings,
        reading=reading_term(course.what),
    )  # fmt: skip


def file_name(log: Log) -> Name:
    """The log by the name of its file."""
    return Name(Path(log.file).name)


def _answer(fit: Fit, system: System) -> Iterator[Sentence]:
    settled = [each for each in fit.constants if each.identifiable]
    every = count(len(fit.constants))
    course = main_course(fit)
    if not settled or course is None:
        yield say("fit.nothing", every=every, stage=Name(fit.stage))
        return
    before, after = (amount_of(_rms(course, each), QUANTITY_OF[course.what], system, 2)
                     for each in (course.before, course.after))  # fmt: skip
    yield say(
        "fit.settled", count=len(settled), every=every, stage=Name(fit.stage), reading=reading_term(course.what),
        after=after, before=before,
    )  # fmt: skip


def main_course(fit: Fit) -> Course | None:
    """The readings that a fit is first judged by: the pressure drop, where there is one."""
    courses = sorted(fit.predicted, key=lambda each: each.what is not What.PRESSURE_DROP)
    return next(iter(courses), None)


def reading_term(what: What) -> Term:
    """What a kind of reading is called."""
    return term("log_reading", what.value)


def _rms(course: Course, shown: Sequence[float]) -> float:
    """Root mean square of readings less what was foretold [SI]."""
    left = [(a - b) ** 2 for a, b in zip(course.read, shown, strict=True) if b == b]
    return math.sqrt(math.fsum(left) / len(left)) if left else 0.0


def _law(fit: Fit, stage: Stage) -> Iterator[Sentence]:
    if fit.law is not None:
        yield say("fit.law", law=term("growth_law", fit.law))
    elif fit.evidence is not None:
        yield say("fit.law_open", law=term("growth_law", stage.head_loss.growth))


def _surer(fit: Fit, surer: Surer | None, system: System) -> Iterator[Sentence]:
    if surer is None:
        return
    if surer.figure is None:
        yield say("fit.surer_none", way=Name(surer.way))
        return
    unit = UNITS[system][KPIS[surer.figure].quantity]

    def shown(ends: Span) -> Amount:
        low, high = written([each * unit.per_result_unit for each in ends])
        return span(low, high, unit.symbol)

    before, after, way = shown(surer.before), shown(surer.after), Name(surer.way)
    share = amount(number(100.0 * surer.share) if surer.share == surer.share else ABSENT, "%")
    how: Change = "narrower" if surer.share < 1.0 else "wider"
    change = Kind(how)
    if surer.today is None:
        figure = named(surer.figure)
        yield say("fit.surer", change=change, figure=figure, way=way, before=before, after=after, share=share)
    else:
        today = Name(surer.today)
        yield say("fit.surer_saved", change=change, way=way, today=today, before=before, after=after, share=share)
    certain = [term("fitted", each.constant.value) for each in fit.constants
               if each.identifiable and each.before[0] == each.before[2]]  # fmt: skip
    if how == "wider" and certain:
        yield say("fit.was_certain", constants=items(certain))


def _held_out(fit: Fit, system: System) -> Iterator[Sentence]:
    for each in fit.held_out[:1]:
        rms, expected = (amount_of(value, QUANTITY_OF[each.what], system, 2) for value in (each.rms, each.expected))
        yield say("fit.held_out", count=each.runs, reading=reading_term(each.what), rms=rms, expected=expected)


def fit_listing(fit: Fit, stage: Stage, system: System) -> Listing:
    """Every constant as the case had it, and as the log has it."""
    heads = (
        Column(label("fit.constant"), "words"), Column(label("column.unit"), "words"),
        Column(label("fit.before"), "numbers"), Column(label("fit.usual"), "numbers"),
        Column(label("fit.fitted"), "numbers"), Column(label("fit.interval"), "numbers"),
    )  # fmt: skip
    return Listing(columns=heads, rows=tuple(_row(each, stage, system) for each in fit.constants))


def unit_of(each: Fitted, stage: Stage, system: System) -> Label | Code:
    """The unit of a constant; the loss of a valve is told at a flow."""
    unit, *_ = constant(as_case_has_it(each, stage, before=True), system)
    if each.constant is not Constant.VALVE:
        return unit
    return label("fit.at_flow", unit=unit, flow=amount_of(valve_flow(stage), "flow", system))


def _row(each: Fitted, stage: Stage, system: System) -> tuple[str, ...]:
    _, before, low, high = constant(as_case_has_it(each, stage, before=True), system)
    unit = unit_of(each, stage, system)
    usual = ABSENT if low == high else span(Number(low), Number(high))
    name = term("fitted", each.constant.value)
    if not each.identifiable:
        return name, unit, before, usual, ABSENT, _bound(each, stage, system)
    _, value, least, most = constant(as_case_has_it(each, stage), system)
    return name, unit, before, usual, value, span(Number(least), Number(most))


def _bound(each: Fitted, stage: Stage, system: System) -> Number:
    _, _, low, high = constant(as_case_has_it(each, stage), system)
    if each.bound == "lower":
        return localised(f">{low}")
    return localised(f"<{high}") if each.bound == "upper" else ABSENT


def _open(fit: Fit, stage: Stage, system: System) -> Iterator[Sentence]:
    """A sentence for every constant that the log leaves open, one for two that can be exchanged."""
    said = set[frozenset[Constant]]()
    for each in fit.constants:
        if each.identifiable:
            continue
        name, need = term("fitted", each.constant.value), need_term(each.needs)
        if each.inseparable_from is not None:
            pair = frozenset({each.constant, each.inseparable_from})
            if pair not in said:
                other = term("fitted", each.inseparable_from.value)
                yield say("fit.inseparable", constant=name, other=other, need=need)
            said.add(pair)
            continue
        value, low, high = (_amount(each, stage, system, which) for which in ("before", "low", "high"))
        left: Left = each.bound if each.bound in ("lower", "upper") else "none"
        yield say("fit.open", bound=Kind(left), constant=name, value=value, low=low, high=high, need=need)


def _amount(each: Fitted, stage: Stage, system: System, which: str) -> Amount:
    held = as_case_has_it(each, stage, before=which == "before")
    unit, value, low, high = constant(held, system)
    return amount(Number({"before": value, "low": low, "high": high}[which]), "" if unit == "-" else unit)


def need_term(need: Need | None) -> Term:
    """The reading that would settle a constant."""
    return term("need", (need or Need.MORE_READINGS).value)
