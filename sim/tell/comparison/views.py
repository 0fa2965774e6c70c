"""Turns the results of a study into what figures and report are made from."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Literal

from plots.inputs import Answer, Compared, Measure, Pictures, Report, TextTable
from plots.words import (
    Items,
    Name,
    Sentence,
    amount,
    count,
    dated,
    in_days,
    items,
    label,
    localised,
    paragraph,
    say,
)
from sim.case.quantities import System
from sim.case.records import Case
from sim.plant.records import RunResult
from sim.study.compare import Comparison
from sim.study.moments import moment
from sim.study.ranking import RangeTest
from sim.study.single import SingleRun
from sim.study.version import PROGRAM, VERSION
from sim.study.vessels import vessels
from sim.study.weeks import Week
from sim.tell.comparison.first_screen import answer_of, screen_of_one
from sim.tell.comparison.leading import side_by_side, spoken
from sim.tell.comparison.range_words import ranges_told
from sim.tell.comparison.spread_words import RangesTold
from sim.tell.comparison.tables import Groups, groups_of_one, marks, stages_fit, text_table, text_tables
from sim.tell.decision.given import given_table
from sim.tell.listing import assumed_listing, site_solute_listing, sources
from sim.tell.present import UNITS, Row, converted
from sim.tell.review.told_words import remedy_words, solved_words
from sim.tell.run.log_words import log_listing
from sim.tell.run.run_words import answer as run_answer
from sim.tell.run.run_words import causes
from sim.tell.run.samples import beds, courses, run_bars, window_around
from sim.tell.run.week_view import week_picture
from sim.tell.sentences import assumed_count, day_clock, quoted
from sim.tell.trigger.settings_tables import settings_listing, steps_listing

DRAWN_AT_MOST = 6  # policies drawn in one figure
COURSES_AT_MOST = 16  # figures through time, over all stages
EVENTS_AT_MOST = 60  # rows of the worst week


def drawn_through_time(case: Case, results: Sequence[RunResult], system: System) -> tuple[RunResult, ...]:
    """The policies with figures of their own through time, one a vessel."""
    return drawn(results, max(min(DRAWN_AT_MOST, COURSES_AT_MOST // len(vessels(case))), 1), system)


def drawn(results: Sequence[RunResult], most: int, system: System) -> tuple[RunResult, ...]:
    """So many policies at most: all of them where they are few.

    Else those with the least or the most of what stands first, then the first of the file.
    """
    if len(results) <= most:
        return tuple(results)
    telling = [min(places) for fact in side_by_side(results, system) for places in (fact.best, fact.worst) if places]
    chosen = list(dict.fromkeys([*telling, *range(len(results))]))[:most]
    return tuple(results[place] for place in sorted(chosen))


def pictures(comparison: Comparison, week: Week, system: System, *, over_limit: bool | None = None) -> Pictures:
    """All that is drawn: every policy side by side, some of them through time and depth around this week, and it.

    `over_limit` says why this week, as for `report`.
    """
    case, results = comparison.case, comparison.results
    some = drawn(results, DRAWN_AT_MOST, system)
    shown = drawn_through_time(case, results, system)
    window = window_around(week, case.run.length)
    return Pictures(
        policies=tuple(each.policy for each in results),
        compared=compared(case, results, system),
        courses=tuple(course for each in shown for course in courses(case, each, window, system)),
        runs=tuple(run_bars(case, some, each) for each in vessels(case)),
        beds=beds(case, some, system),
        week=(moment(case.run.start, week.start_s), moment(case.run.start, week.end_s)),
        in_week=week_picture(case, next(each for each in results if each.policy == week.policy), week, system),
        week_why=week_why(week, over_limit=over_limit),
        left_out=tuple(each.policy for each in results if each not in some),
    )


def week_why(week: Week, *, over_limit: bool | None) -> Literal["asked", "over", "stages", "washes"]:
    """Why a week is told in detail."""
    if over_limit is None:
        return "asked"
    return "over" if over_limit else "stages" if week.stages_over_h else "washes"


def compared(case: Case, results: Sequence[RunResult], system: System) -> tuple[Compared, ...]:
    """The figures that stand first, of every policy."""
    return tuple(_compared(case, fact, results, system) for fact in side_by_side(results, system))


def _compared(case: Case, fact: Row, results: Sequence[RunResult], system: System) -> Compared:
    unit = UNITS[system][fact.kpi.quantity]
    values = [converted(each.site[fact.kpi.key], unit) for each in results]
    return Compared(
        measure=Measure(spoken(fact.kpi, case), fact.unit),
        values=tuple(float("nan") if value is None else value for value in values),
        texts=fact.texts,
    )


def report(
    comparison: Comparison, week: Week, *, over_limit: bool | None, system: System, test: RangeTest | None = None
) -> Report:
    """The text of the report.

    `week` is told in detail: the worst one, `over_limit` saying by what, or where that is None one that was asked
    for; `test` knows the ranges of what is assumed.
    """
    case, ways = comparison.case, [each.policy for each in comparison.results]
    events, events_note = _events(comparison, week, system)
    groups, ranges = groups_of_one(comparison, system), ranges_told(test, case, system)
    return Report(
        title=case.title,
        simulated=label("study.simulated", length=in_days(comparison.days), start=dated(case.run.start)),
        facts=facts(comparison),
        answer=_answer(comparison, system, test),
        given=given_table(case, system),
        settings=_settings(case, comparison.results, system),
        comparison=text_tables(groups, ways),
        comparison_notes=table_notes(groups, ways),
        dissolved=dissolved_table(comparison.results, system),
        drawn_note=_drawn_note(case, comparison.results, system),
        week=_week_words(case, comparison.days, week, over_limit=over_limit, several=len(ways) > 1),
        events=events,
        events_note=events_note,
        assumed=assumed_count(case.assumptions),
        known=(*remedy_words(case.remedies), *solved_words(case, system)),
        order=ranges.order,
        spread=spread_table(ranges),
        assumptions=assumed_text_table(case, system),
        sources=sources(case.assumptions),
    )


def _answer(comparison: Comparison, system: System, test: RangeTest | None) -> Answer:
    """What the first screen of these runs says, or that of a single one."""
    if len(comparison.results) > 1:
        return answer_of(screen_of_one(comparison, system, test=test, whole=True))
    alone = SingleRun(case=comparison.case, result=comparison.results[0])
    table = text_table(label("study.causes"), causes(alone, system))
    return Answer(sentences=tuple(run_answer(alone, system)), table=table, notes=(), change=())


def _settings(case: Case, results: Sequence[RunResult], system: System) -> tuple[TextTable, ...]:
    """What is to be set at the filters, and the wash step by step."""
    return (
        text_table(label("study.settings"), settings_listing(case, [each.policy for each in results], system)),
        text_table(label("study.steps"), steps_listing(case, results, system)),
    )


def facts(comparison: Comparison) -> tuple[tuple[str, str], ...]:
    """What the study was run with, name and value."""
    case = comparison.case
    return (
        (label("fact.program"), f"{PROGRAM} {VERSION}"),
        (label("fact.case"), case.title),
        (label("fact.content"), case.source_hash),
        (label("fact.from"), dated(case.run.start)),
        (label("fact.length"), in_days(comparison.days)),
        (label("fact.seed"), str(comparison.seed)),
        (label("fact.stages"), items([stage.name for stage in case.stages])),
    )


def table_notes(groups: Mapping[str, Groups], ways: Sequence[str], *, many: bool = False) -> tuple[Sentence, ...]:
    """How the tables are to be read."""
    notes = [marks(many=many)] if len(ways) > 1 else []
    if len(groups) > 1:
        notes.append(say("table.site_sums"))
        if not stages_fit(groups, ways):
            notes.append(say("table.stages_elsewhere"))
    return tuple(notes)


def _drawn_note(case: Case, results: Sequence[RunResult], system: System) -> Sentence:
    """Who is left out of which figures, and why."""
    through_time, by_runs = drawn_through_time(case, results, system), drawn(results, DRAWN_AT_MOST, system)
    every, notes = count(len(results)), []
    if len(through_time) < len(results):
        notes.append(say("drawn.through_time", some=count(len(through_time)), every=every, ways=_ways(through_time)))
    if len(by_runs) < len(results):
        notes.append(say("drawn.by_runs", some=count(len(by_runs)), every=every, ways=_ways(by_runs)))
    return paragraph(*notes, *([say("drawn.others")] if notes else []))


def _ways(results: Sequence[RunResult]) -> Items:
    return quoted([each.policy for each in results])


def _week_words(case: Case, days: float, week: Week, *, over_limit: bool | None, several: bool) -> Sentence:
    """Which week it is and why; what is said of it holds for every week of every policy."""
    start, end = (day_clock(case.run.start, time, days) for time in (week.start_s, week.end_s))
    named = say("week_shown.named", week=count(week.number), way=Name(week.policy), start=start, end=end)
    return paragraph(named, *_why_words(week, over_limit=over_limit, several=several))


def _why_words(week: Week, *, over_limit: bool | None, several: bool) -> Iterator[Sentence]:
    over = None if week.over_limit_h is None else amount(localised(f"{week.over_limit_h:.3g}"), "h")
    stages, ways = amount(localised(f"{week.stages_over_h:.3g}"), "h"), 2 if several else 1
    if over_limit is None:
        yield say("week_shown.asked", washes=week.washes)
        if over is not None:
            yield say("week_shown.over", time=over)
    elif over_limit and over is not None:
        yield say("week_shown.most_over", ways=ways, time=over)
    elif week.stages_over_h:
        yield say("week_shown.most_of_stages", ways=ways, time=stages)
    else:
        yield say("week_shown.no_limit") if over is None else say("week_shown.none_over")
        yield say("week_shown.washes", washes=week.washes)


def _events(comparison: Comparison, week: Week, system: System) -> tuple[TextTable, str]:
    """The log of that week, and a note where it is cut off."""
    result = next(each for each in comparison.results if each.policy == week.policy)
    log = [entry for entry in result.log if week.start_s <= entry.time_s < week.end_s]
    single = SingleRun(case=comparison.case, result=replace(result, log=tuple(log[:EVENTS_AT_MOST])))
    caption = label("study.events", week=count(week.number), way=Name(week.policy))
    return text_table(caption, log_listing(single, system)), _events_note(len(log))


def _events_note(events: int) -> str:
    if events > EVENTS_AT_MOST:
        return say("events.first", some=count(EVENTS_AT_MOST), every=count(events))
    return "" if events else say("events.none")


def dissolved_table(results: Sequence[RunResult], system: System) -> TextTable | None:
    """Where what is dissolved came from and went; None where nothing is."""
    listing = site_solute_listing(results, system)
    return None if listing is None else text_table(label("run.solutes"), listing)


def spread_table(ranges: RangesTold) -> TextTable | None:
    """How far the figures spread over the ranges of what is assumed."""
    return None if ranges.spread is None else text_table(ranges.caption, ranges.spread)


def assumed_text_table(case: Case, system: System) -> TextTable | None:
    """Every assumed constant as low, typical, high; None if there is none."""
    if not case.assumptions:
        return None
    return text_table(label("study.constants"), assumed_listing(case, system))
