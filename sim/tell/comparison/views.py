"""Turns the results of a study into what figures and report are made from."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal

from plots.inputs import Answer, Compared, Measure, Pictures, Report, TextTable
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
from sim.tell.comparison.tables import SITE_SUMS, Groups, groups_of_one, stages_fit, text_table, text_tables
from sim.tell.listing import assumed_listing, sources
from sim.tell.present import UNITS, Row, converted
from sim.tell.review.told_words import remedy_words, solved_words
from sim.tell.run.log_words import log_listing
from sim.tell.run.run_words import answer as run_answer
from sim.tell.run.run_words import causes
from sim.tell.run.samples import bed, courses, run_bars, window_around
from sim.tell.run.week_view import week_picture
from sim.tell.sentences import MARK_LEGEND, assumed_count, clock, day_clock, days_words
from sim.tell.trigger.settings_sheet import settings_listing, steps_listing

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
        beds=tuple(bed(case, some, stage, system) for stage in case.stages),
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
        simulated=f"{days_words(comparison.days)} from {clock(case.run.start)}, simulated",
        facts=facts(comparison),
        answer=_answer(comparison, system, test),
        settings=_settings(case, comparison.results, system),
        comparison=text_tables(groups, ways),
        comparison_notes=table_notes(groups, ways),
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
    table = text_table("What started the washes", causes(alone))
    return Answer(sentences=tuple(run_answer(alone, system)), table=table, notes=(), change=())


def _settings(case: Case, results: Sequence[RunResult], system: System) -> tuple[TextTable, ...]:
    """What is to be set at the filters, and the wash step by step."""
    return (
        text_table("What starts a wash", settings_listing(case, [each.policy for each in results], system)),
        text_table("The wash, step by step", steps_listing(case, results, system)),
    )


def facts(comparison: Comparison) -> tuple[tuple[str, str], ...]:
    """What the study was run with, name and value."""
    case = comparison.case
    return (
        ("program", f"{PROGRAM} {VERSION}"),
        ("case", case.title),
        ("content of the case", case.source_hash),
        ("from", clock(case.run.start)),
        ("length", days_words(comparison.days)),
        ("seed", str(comparison.seed)),
        ("stages", ", ".join(stage.name for stage in case.stages)),
    )


def table_notes(groups: Mapping[str, Groups], ways: Sequence[str], marks: str = MARK_LEGEND) -> tuple[str, ...]:
    """How the tables are to be read."""
    notes = [marks] if len(ways) > 1 else []
    if len(groups) > 1:
        notes.append(SITE_SUMS)
        if not stages_fit(groups, ways):
            notes.append("The figures of each stage are in tables.xlsx.")
    return tuple(notes)


def _drawn_note(case: Case, results: Sequence[RunResult], system: System) -> str:
    """Who is left out of which figures, and why."""
    groups = {
        "through time": drawn_through_time(case, results, system),
        "by their filter runs and beds": drawn(results, DRAWN_AT_MOST, system),
    }
    notes = [
        f"Drawn {how} are {len(some)} of the {len(results)} ways to start a wash, those with the least or the most "
        f"of what stands first among them: {', '.join(each.policy for each in some)}."
        for how, some in groups.items()
        if len(some) < len(results)
    ]
    return " ".join([*notes, "More would not fit; the command run draws any other."] if notes else [])


def _week_words(case: Case, days: float, week: Week, *, over_limit: bool | None, several: bool) -> str:
    """Which week it is and why; what is said of it holds for every week of every policy."""
    start, end = (day_clock(case.run.start, time, days) for time in (week.start_s, week.end_s))
    name = f"Week {week.number} with “{week.policy}”, {start} to {end}"
    whose = " of any way to start a wash" if several else ""
    hours = f"{week.over_limit_h or 0.0:.3g} h"
    count = f"{week.washes} wash" + ("" if week.washes == 1 else "es")
    if over_limit is None:
        return f"{name}, as asked for: {count}" + ("." if week.over_limit_h is None else f", {hours} over the limit.")
    if over_limit:
        return f"{name}: {hours} over the limit; no week{whose} had more."
    if week.stages_over_h:
        last = "" if week.over_limit_h is None else ", and none had time over the limit of the site"
        told = f"{week.stages_over_h:.3g} h together; no week{whose} had more{last}."
        return f"{name}: its stages are over their own limits for {told}"
    why = "There is no limit" if week.over_limit_h is None else "No week had time over the limit"
    return (
        f"{why}, so the week with the most washes stands here, of equal ones that with the most "
        f"water. {name}: {count}; no week{whose} had more."
    )


def _events(comparison: Comparison, week: Week, system: System) -> tuple[TextTable, str]:
    """The log of that week, and a note where it is cut off."""
    result = next(each for each in comparison.results if each.policy == week.policy)
    log = [entry for entry in result.log if week.start_s <= entry.time_s < week.end_s]
    single = SingleRun(case=comparison.case, result=replace(result, log=tuple(log[:EVENTS_AT_MOST])))
    note = "" if log else "Nothing happened in this week."
    if len(log) > EVENTS_AT_MOST:
        note = f"The first {EVENTS_AT_MOST} of {len(log)} events; tables.xlsx has all of them."
    return text_table(f"Events of week {week.number} with “{week.policy}”", log_listing(single, system)), note


def spread_table(ranges: RangesTold) -> TextTable | None:
    """How far the figures spread over the ranges of what is assumed."""
    return None if ranges.spread is None else text_table(ranges.caption, ranges.spread)


def assumed_text_table(case: Case, system: System) -> TextTable | None:
    """Every assumed constant as low, typical, high; None if there is none."""
    if not case.assumptions:
        return None
    caption = "Constants that the case leaves out, and the range that is usual"
    return text_table(caption, assumed_listing(case, system))
