"""The text of a decision: its first screen, then all that stands behind it, for the report and for the screen."""

from plots.decision_inputs import DecisionReport
from plots.inputs import TextTable
from plots.words import Label, Name, Sentence, count, dated, in_days, label, paragraph, say
from sim.case.quantities import System
from sim.case.units import DAY
from sim.study.decide.advice import Advice
from sim.study.decide.ends import Ends
from sim.study.decide.payback import Payback
from sim.study.decide.seasons import Seasons
from sim.study.version import PROGRAM, VERSION
from sim.tell.comparison.first_screen import FirstScreen, answer_of
from sim.tell.comparison.spread_words import RangesTold
from sim.tell.comparison.views import assumed_text_table, spread_table
from sim.tell.decision import advice_words, payback_words
from sim.tell.decision.decision_screens import advice_screen
from sim.tell.decision.decision_tables import a_year, advice_tables, bars_tables, what_if_table, worth_table
from sim.tell.decision.given import given_table
from sim.tell.decision.payback_screen import payback_screen
from sim.tell.decision.sure_words import advice_ranges, payback_ranges
from sim.tell.decision.unusual_words import unusual_words
from sim.tell.listing import sources
from sim.tell.sentences import assumed_count


def advice_report(
    advice: Advice, seasons: Seasons | None, system: System, ends: Ends | None = None
) -> DecisionReport:
    """Of a study of settings."""
    return _report(
        advice, advice_ranges(advice, ends, system), advice_screen(advice, system, ends, whole=True),
        title=label("decision_report.advice", title=Name(advice.case.title)),
        sentences=(
            *unusual_words(advice, system), *advice_words.sentences(advice, system),
            *advice_words.season_words(advice, seasons, system),
        ),
        tables=advice_tables(advice, system), cautions=advice_words.cautions(advice), system=system,
    )  # fmt: skip


def payback_report(found: Payback, system: System, ends: Ends | None = None) -> DecisionReport:
    """Of a study of worth."""
    advice = found.advice
    worth = [worth_table(found, system)] if found.decided else []
    return _report(
        advice, payback_ranges(found, ends, system), payback_screen(found, system, ends, whole=True),
        title=label("decision_report.payback", title=Name(found.case.title)),
        sentences=(*unusual_words(advice, system), *advice_words.sentences(advice, system)),
        tables=(*bars_tables(found, system), *worth, *(what_if_table(found, each, system) for each in found.decided)),
        cautions=payback_words.remarks(found), system=system,
    )  # fmt: skip


def _report(
    advice: Advice, ranges: RangesTold, screen: FirstScreen, *, title: Label, sentences: tuple[Sentence, ...],
    tables: tuple[TextTable, ...], cautions: tuple[Sentence, ...], system: System,
) -> DecisionReport:  # fmt: skip
    case = advice.case
    return DecisionReport(
        title=title, simulated=simulated(advice), facts=facts(advice), answer=answer_of(screen),
        given=given_table(case, system), sentences=sentences,
        tables=tables,
        notes=(a_year(advice), *advice_words.remarks(advice, system)),
        cautions=cautions, order=ranges.order, spread=spread_table(ranges), assumed=assumed_count(case.assumptions),
        assumptions=assumed_text_table(case, system), sources=sources(case.assumptions),
    )  # fmt: skip


def simulated(advice: Advice) -> Label:
    """What was run."""
    length, start = in_days(advice.case.run.length / DAY), dated(advice.case.run.start)
    return label("decision_report.simulated", runs=advice.replicates, length=length, start=start)


def rests_on(found: Payback, whole_days: float) -> Sentence:
    """How many runs of what length an answer rests on, of a case of so many days, and how many settings tried."""
    advice, days = found.advice, found.case.run.length / DAY
    return paragraph(
        say("rests_on.runs", runs=advice.replicates, length=in_days(days), start=dated(found.case.run.start)),
        say("rests_on.tried", tried=settings_tried(advice)),
        *([say("rests_on.shortened", days=in_days(days), whole=in_days(whole_days))] if days < whole_days else []),
    )


def settings_tried(advice: Advice) -> int:
    """How many settings of all ways were tried."""
    return sum(len(each.tried) for each in advice.policies)


def facts(advice: Advice) -> tuple[tuple[Label, str], ...]:
    """What the study was run with."""
    return (
        (label("decision_report.program"), f"{PROGRAM} {VERSION}"),
        (label("decision_report.case"), advice.case.title),
        (label("decision_report.hash"), advice.case.source_hash),
        (label("decision_report.seed"), str(advice.seed)),
        (label("decision_report.replicates"), count(advice.replicates)),
        (label("decision_report.tried"), count(settings_tried(advice))),
        (label("decision_report.runs"), count(advice.runs)),
    )
