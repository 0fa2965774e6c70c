"""The text of a decision: its first screen, then all that stands behind it, for the report and for the screen."""

from plots.decision_inputs import DecisionReport
from plots.inputs import TextTable
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
from sim.tell.decision.decision_screens import advice_screen, payback_screen
from sim.tell.decision.decision_tables import a_year, advice_tables, bars_tables, what_if_table, worth_table
from sim.tell.decision.given import prices_table
from sim.tell.decision.sure_words import advice_ranges, payback_ranges
from sim.tell.decision.unusual_words import unusual_words
from sim.tell.listing import sources
from sim.tell.sentences import assumed_count, clock, described


def advice_report(
    advice: Advice, seasons: Seasons | None, system: System, ends: Ends | None = None
) -> DecisionReport:
    """Of a study of settings."""
    return _report(
        advice, advice_ranges(advice, ends, system), advice_screen(advice, system, ends, whole=True),
        title=f"{advice.case.title}: the best settings",
        sentences=(
            *unusual_words(advice, system), *advice_words.sentences(advice, system),
            *advice_words.season_words(advice, seasons, system),
        ),
        tables=advice_tables(advice, system), cautions=advice_words.cautions(advice), system=system,
    )  # fmt: skip


def payback_report(found: Payback, system: System, ends: Ends | None = None) -> DecisionReport:
    """Of a study of worth."""
    advice, devices = found.advice, " and ".join(f"a {each.device}" for each in found.decided) or "a device"
    worth = [worth_table(found, system)] if found.decided else []
    return _report(
        advice, payback_ranges(found, ends, system), payback_screen(found, system, ends, whole=True),
        title=f"{found.case.title}: what {devices} {'are' if len(found.decided) > 1 else 'is'} worth",
        sentences=(
            *unusual_words(advice, system), *payback_words.lost_words(found, system),
            *advice_words.sentences(advice, system),
        ),
        tables=(*bars_tables(found, system), *worth, *(what_if_table(found, each, system) for each in found.decided)),
        cautions=payback_words.remarks(found), system=system,
    )  # fmt: skip


def _report(
    advice: Advice, ranges: RangesTold, screen: FirstScreen, *, title: str, sentences: tuple[str, ...],
    tables: tuple[TextTable, ...], cautions: tuple[str, ...], system: System,
) -> DecisionReport:  # fmt: skip
    case = advice.case
    return DecisionReport(
        title=title, simulated=simulated(advice), facts=facts(advice), answer=answer_of(screen), sentences=sentences,
        tables=(*tables, prices_table(case, system)),
        notes=(a_year(advice), *described(case), *advice_words.remarks(advice, system)),
        cautions=cautions, order=ranges.order, spread=spread_table(ranges), assumed=assumed_count(case.assumptions),
        assumptions=assumed_text_table(case, system), sources=sources(case.assumptions),
    )  # fmt: skip


def simulated(advice: Advice) -> str:
    """What was run."""
    return f"{advice_words.runs_words(advice)}, from {clock(advice.case.run.start)}"


def rests_on(found: Payback, whole_days: float) -> str:
    """How many runs of what length an answer rests on, of a case of so many days, and how many settings tried."""
    tried = sum(len(each.tried) for each in found.advice.policies)
    told = f"It rests on {simulated(found.advice)}; {tried} settings were tried"
    days = found.case.run.length / DAY
    if days < whole_days:
        told += f"; the page runs the first {days:.0f} days of the {whole_days:.0f} that the case has"
    return f"{told}."


def facts(advice: Advice) -> tuple[tuple[str, str], ...]:
    """What the study was run with."""
    return (
        ("program", f"{PROGRAM} {VERSION}"),
        ("case", advice.case.title),
        ("case hash", advice.case.source_hash),
        ("seed", str(advice.seed)),
        ("replicates", str(advice.replicates)),
        ("settings tried", str(sum(len(each.tried) for each in advice.policies))),
        ("runs of these", f"{advice.runs:,}"),
    )
