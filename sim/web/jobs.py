"""What the workers do, by name. Every function takes plain data and a way to tell how far it is."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from pathlib import Path
from typing import Any, Literal

from plots.inputs import TextTable
from plots.one import Shown, show_bars, show_compared, show_course, show_rinsed
from sim.case.records import Case
from sim.study.check import Finding, checked
from sim.study.compare import compare
from sim.study.kpis import System
from sim.study.many.workers import local
from sim.study.moments import moment
from sim.study.ranking import range_test
from sim.study.returned import Returned, after_wash
from sim.study.weeks import weeks, worst_week
from sim.study.whole_files import as_json
from sim.tell.comparison.files_of_one import report_files
from sim.tell.comparison.first_screen import screen_of_one
from sim.tell.comparison.tables import groups_of_one, text_tables
from sim.tell.comparison.views import assumed_text_table, compared, table_notes
from sim.tell.decision import advice_words, payback_words
from sim.tell.decision.decision_screens import payback_screen
from sim.tell.decision.decision_tables import a_year, bars_tables, what_if_table, worth_table
from sim.tell.decision.files_of_decision import stacked_bars
from sim.tell.listing import sources
from sim.tell.present import UNITS, finely_written, solids_unit
from sim.tell.review.finding_words import finding_sources, finding_words, grouped, tally
from sim.tell.review.told_words import remedy_words, solved_words
from sim.tell.run.rinse_view import jar_texts, rinsed
from sim.tell.run.samples import courses, window_around
from sim.tell.sentences import assumed_count, described
from sim.web.carried import Carried, carried, moved_settings
from sim.web.cases_read import case_of, parsed
from sim.web.errors import Refused
from sim.web.form import Group, edited, form_of
from sim.web.shelf import DEMO, Held
from sim.web.sliders import Slider, rinse_sliders, settings_of, start_sliders
from sim.web.worker import Asked, Tell
from sim.web.worth import runs, why_not_the_command, worth, worth_rests_on
from sim.web.worth_sliders import worth_sliders


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """What a page shows before there is an answer: the case, its sliders, its ways to start a wash, its stages."""

    title: str
    sliders: tuple[Slider, ...]
    policies: tuple[str, ...]
    stages: tuple[str, ...]
    solids: str

    @property
    def groups(self) -> tuple[tuple[str, tuple[tuple[int, Slider], ...]], ...]:
        """The sliders with their places, by what they belong to."""
        numbered = enumerate(self.sliders)
        return tuple((name, tuple(own)) for name, own in groupby(numbered, lambda each: each[1].group))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantForm:
    """A case as a form, what it describes, what its design says against itself, and what it leaves to be assumed."""

    described: tuple[str, ...]
    tally: str
    stops: tuple[tuple[str, tuple[str, ...]], ...]
    looks: tuple[tuple[str, tuple[str, ...]], ...]
    held_against: tuple[str, ...]
    groups: tuple[Group, ...]
    assumed: str
    assumptions: TextTable | None
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StartAnswer:
    """The ways to start a wash side by side."""

    simulated: str
    sentence: str
    figure: Shown
    tables: tuple[TextTable, ...]
    notes: tuple[str, ...]
    assumed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RinseAnswer:
    """One wash: its first jar as a number with its unit, its figure, and its figures in words."""

    sentence: str
    first: str
    figure: Shown
    facts: tuple[tuple[str, str], ...]
    assumed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WorthAnswer:
    """What a meter or a switch is worth: the bars, what would change the answer, and what it rests on."""

    headline: str
    statements: tuple[str, ...]
    figure: Shown
    reasons: tuple[str, ...]
    tables: tuple[TextTable, ...]
    settings: tuple[TextTable, ...]
    simulated: str
    notes: tuple[str, ...]
    command: str
    not_the_command: str
    coarse: bool
    assumed: str


def warm_up(tell: Tell) -> None:
    """Load, compile and draw once, so that nobody waits for it later."""
    held = Held(DEMO.read_text(encoding="utf-8"), DEMO.name)
    start_answer(held, (), "si", False, tell)


def start_setup(held: Held, system: System, _tell: Tell) -> Setup:
    """The sliders of “What should start a wash?”."""
    case, data = case_of(held), parsed(held)
    return _setup(case, start_sliders(data, system))


def rinse_setup(held: Held, stage: str | None, system: System, _tell: Tell) -> Setup:
    """The sliders of “Why rinse?”."""
    case, data = case_of(held), parsed(held)
    return _setup(case, rinse_sliders(data, _stage(case, stage), system))


def _setup(case: Case, sliders: tuple[Slider, ...]) -> Setup:
    policies, stages = (each.name for each in case.policies), (each.name for each in case.stages)
    unit = solids_unit(case.feed.turbidity_ratio, "si").symbol
    return Setup(
        title=case.title, sliders=sliders, policies=tuple(policies), stages=tuple(stages), solids=unit
    )  # fmt: skip


def _stage(case: Case, asked: str | None) -> str:
    names = [stage.name for stage in case.stages]
    if asked is not None and asked not in names:
        raise Refused(404, "This case has no filter of that name.")
    return asked or names[0]


def _policy(case: Case, asked: str) -> str:
    if asked not in [policy.name for policy in case.policies]:
        raise Refused(404, "This case has no such way to start a wash.")
    return asked


def start_settings(held: Held, asked: Asked, system: System) -> dict[str, Any]:
    """What the sliders of “What should start a wash?” change in the case."""
    data = parsed(held)
    return settings_of(start_sliders(data, system), dict(asked), data)


def start_answer(held: Held, asked: Asked, system: System, narrow: bool, tell: Tell) -> StartAnswer:
    """Every way to start a wash at these settings, side by side."""
    case = case_of(held, start_settings(held, asked, system))
    comparison = compare(case, progress=lambda name, place, count: tell(f"run {place + 1} of {count}: {name}"))
    results, groups = comparison.results, groups_of_one(comparison, system)
    ways, screen = [each.policy for each in results], screen_of_one(comparison, system)
    return StartAnswer(
        simulated=screen.title,
        sentence=" ".join(screen.answer),
        figure=show_compared(ways, compared(case, results, system), narrow=narrow),
        tables=text_tables(groups, ways),
        notes=(
            *table_notes(groups, ways), *screen.change, *remedy_words(case.remedies), *solved_words(case, system),
        ),
        assumed=assumed_count(case.assumptions),
    )


def through(
    held: Held, asked: Asked, system: System, policy: str, narrow: bool, tell: Tell
) -> tuple[Shown, ...]:
    """Every stage through time under one policy, around its worst week."""
    case = case_of(held, start_settings(held, asked, system))
    comparison = compare(case)
    result = next(each for each in comparison.results if each.policy == _policy(case, policy))
    tell("drawing")
    worst, _ = worst_week(weeks(case, policy))
    week = (moment(case.run.start, worst.start_s), moment(case.run.start, worst.end_s))
    drawn = courses(case, result, window_around(worst, case.run.length), system)
    return tuple(show_course(course, week, narrow=narrow) for course in drawn)


def rinse_answer(
    held: Held, asked: Asked, system: System, stage: str | None, narrow: bool, _tell: Tell
) -> RinseAnswer:
    """One wash of one stage at these settings, and what it sends on."""
    data = parsed(held)
    name = _stage(case_of(held), stage)
    settings = settings_of(rinse_sliders(data, name, system), dict(asked), data)
    case = case_of(held, settings)
    returned = after_wash(case, case.policies[0].name, name)
    unit = solids_unit(case.feed.turbidity_ratio, system)
    (first,) = jar_texts([returned.jars[0][1] * unit.per_result_unit])
    return RinseAnswer(
        sentence=f"The first jar, half a minute after the return to service, reads {first} {unit.symbol}.",
        first=f"{first} {unit.symbol}",
        figure=show_rinsed(rinsed(case, returned, system), narrow=narrow),
        facts=_rinse_facts(returned, system),
        assumed=assumed_count(case.assumptions),
    )


def _rinse_facts(returned: Returned, system: System) -> tuple[tuple[str, str], ...]:
    volume, mass, grams = (UNITS[system][kind] for kind in ("volume", "mass", "small mass"))
    backwash, rinse = finely_written([each * volume.per_result_unit or None for each in
                                      (returned.backwash_m3, returned.rinse_m3)])  # fmt: skip
    (drained,) = finely_written([returned.to_drain_kg * mass.per_result_unit])
    facts = [
        ("water of the backwash, to drain", f"{backwash} {volume.symbol}"),
        ("water of the rinse, to drain", f"{rinse} {volume.symbol}" if returned.rinse_m3 else "none: no rinse"),
        ("solids of this wash, to drain", f"{drained} {mass.symbol}"),
    ]
    if returned.sent_on_kg is not None:
        (sent,) = finely_written([returned.sent_on_kg * grams.per_result_unit])
        facts.append(("solids sent on in dirty water, mean of all washes", f"{sent} {grams.symbol} a wash"))
    return tuple(facts)


def worth_setup(held: Held, system: System, _tell: Tell) -> Setup:
    """The sliders of “Is a meter worth it?”."""
    case, data = case_of(held), parsed(held)
    return _setup(case, worth_sliders(data, system))


def worth_runs(held: Held, asked: Asked, tell: Tell) -> bytes:
    """The runs behind it, whatever things cost."""
    return runs(held, asked, tell)


def worth_answer(kept: bytes, held: Held, asked: Asked, system: System, narrow: bool, tell: Tell) -> WorthAnswer:
    """What a device is worth at these prices, by runs that were kept."""
    data = parsed(held)
    sliders = worth_sliders(data, system)
    settings = settings_of(sliders, dict(asked), data)
    study, found = worth(kept, held, asked, settings, tell)
    tell("drawing")
    (bars, year), said = bars_tables(found, system), payback_screen(found, system, None, whole=True)
    what_if = (what_if_table(found, each, system) for each in found.decided)
    verdicts = [payback_words.verdict_words(found, each, system) for each in found.decided]
    return WorthAnswer(
        headline=" ".join(verdicts) or said.answer[0],
        statements=said.answer,
        figure=show_bars(stacked_bars(found, system), narrow=narrow),
        reasons=said.change,
        tables=(year, *([worth_table(found, system)] if found.decided else [])),
        settings=(bars, *what_if),
        simulated=worth_rests_on(study, found),
        notes=(a_year(found.advice), *advice_words.remarks(found.advice, system), *payback_words.remarks(found)),
        command=study.command,
        not_the_command=why_not_the_command(study, sliders, asked),
        coarse=study.wishes.coarse,
        assumed=assumed_count(study.case.assumptions),
    )


def plant_form(held: Held, system: System, _tell: Tell) -> PlantForm:
    """A case as a form."""
    case = case_of(held)
    findings = checked(case).findings
    return PlantForm(
        described=described(case),
        tally=tally(findings),
        stops=tuple(_findings(findings, "stop", system)),
        looks=tuple(_findings(findings, "look", system)),
        held_against=finding_sources(findings),
        groups=form_of(parsed(held), case, system),
        assumed=assumed_count(case.assumptions),
        assumptions=assumed_text_table(case, system),
        sources=sources(case.assumptions),
    )


def _findings(
    findings: Sequence[Finding], level: Literal["stop", "look"], system: System
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What is to be stopped for or looked at: where, and what is told of it."""
    known = finding_sources(findings)
    for place, those in grouped(findings, level).items():
        for finding in those:
            yield f"{level}, {place}", tuple(finding_words(finding, known, system))


def carry(held: Held, asked: Asked, system: System, _tell: Tell) -> Carried:
    """A case with what sliders say in its text, once that has been read without a problem."""
    found = carried(held, asked, system)
    case_of(found.held)
    return found


def read(held: Held, _tell: Tell) -> Held:
    """The same case, once it has been read without a problem."""
    case_of(held)
    return held


def edit(held: Held, changes: Asked, _tell: Tell) -> Held:
    """A case with some fields of its form changed, once it has been read without a problem."""
    parsed(held)
    changed = replace(held, text=edited(held.text, dict(changes)))
    case_of(changed)
    return changed


def files(held: Held, asked: Asked, system: System, tell: Tell) -> dict[str, bytes]:
    """Report, workbook and JSON of the comparison at these settings, as the command compare makes them."""
    settings = moved_settings(held, asked, system)
    case = case_of(held, settings)
    comparison = compare(case, progress=lambda name, place, count: tell(f"run {place + 1} of {count}: {name}"))
    test = None
    if case.assumptions:
        with local(1) as crew:
            test = range_test(
                Path(held.name), case, comparison.results, crew,
                progress=lambda done, goal: tell(f"assumed constants, {done} of {goal} runs"),
                load=lambda _, changed: _again(held, settings, changed),
            )  # fmt: skip
    tell("drawing the report")
    made = report_files(comparison, system, test=test)
    made["result.json"] = as_json(comparison.to_json() | {"order": test.to_json() if test else None})
    wanted = ("report.html", "tables.xlsx", "result.json")
    return {name: _bytes(made[name]) for name in wanted}


def _again(held: Held, settings: Mapping[str, Any], changed: Mapping[str, Any]) -> Case:
    return case_of(held, {**settings, **changed})


def _bytes(content: str | bytes) -> bytes:
    return content.encode("utf-8") if isinstance(content, str) else content
