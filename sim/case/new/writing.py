"""From answers to the text of a case file, and to what a person should know of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from hydraulics.media import VALVE_RATE
from sim.case import units
from sim.case.load import read_case
from sim.case.new.answers import Answers
from sim.case.new.assumed import assumed_line
from sim.case.new.document import Section, text_of
from sim.case.new.expected import AT_ONCE, LIMIT, Expected, Use, expected_run, hours_of_use
from sim.case.new.plan import Filter, plan_of
from sim.case.new.policies import expectation_words, policy_sections
from sim.case.new.sections import SOLIDS_ONLY, filter_sections, opening
from sim.case.new.written import quantity
from sim.case.records import Assumption, Case

COMMON_RATES = (5.0 / units.HOUR, 25.0 / units.HOUR)
SHORT_RUN = 8.0  # h of use
BARELY = "the clean bed lets nearly as much through as the limit has room for"
SMALL = "the filter is small for such water"


@dataclass(frozen=True, slots=True, kw_only=True)
class NewCase:
    """The text of a case file, the case it holds, and remarks for whoever asked for it."""

    text: str
    case: Case
    remarks: tuple[str, ...]


def new_case(answers: Answers, path: Path) -> NewCase:
    """A commented case that every command accepts; `path` is where it is going to be."""
    filters = plan_of(answers)
    bare = _sections(answers, filters, [()] * len(filters))
    case = read_case(text_of([*bare, *_provisional(filters)]), path, {})
    use = _use(answers)
    runs = [expected_run(case, k, use) for k in range(len(filters))]
    words = [expectation_words(run, use, answers.units, answers.limit.text) for run in runs]
    sections = _sections(answers, filters, words)
    _leave_out(sections, case.assumptions, answers)
    text = text_of([*sections, *policy_sections(filters, runs, use, answers.units)])
    return NewCase(text=text, case=read_case(text, path, {}), remarks=_remarks(answers, filters, runs, words))


def _sections(answers: Answers, filters: Sequence[Filter], words: Sequence[Sequence[str]]) -> list[Section]:
    sections = opening(answers)
    for planned, said in zip(filters, words, strict=True):
        sections += filter_sections(answers, planned, said)
    return sections


def _provisional(filters: Sequence[Filter]) -> list[Section]:
    """Something that starts a wash, so that the rest can be read before the triggers are known."""
    lines = [f'{planned.kind.name} = {{ start_on = "volume", volume = "1 m3" }}' for planned in filters]
    return [Section("[policy.provisional]", "", lines)]


def _leave_out(sections: Sequence[Section], assumptions: Sequence[Assumption], answers: Answers) -> None:
    """Every assumed constant as a line in the section where its key belongs."""
    by_path = {section.path: section for section in sections}
    for assumption in assumptions:
        path = assumption.key.rpartition(".")[0]
        by_path[path].leave_out(*assumed_line(assumption, VALVE_RATE * answers.area, answers.units))


def _use(answers: Answers) -> Use:
    return Use(
        flow=answers.flow.value,
        hours=answers.hours,
        days=answers.days,
        coldest=answers.temperature.coldest,
    )


def _remarks(
    answers: Answers, filters: Sequence[Filter], runs: Sequence[Expected], words: Sequence[Sequence[str]]
) -> tuple[str, ...]:
    rate = answers.flow.value / answers.area
    shown = quantity(rate, "rate", answers.units, 3).strip('"')
    low, high = COMMON_RATES
    remarks = [f"filtration rate at the flow of use: {shown}" + ("" if low <= rate <= high else "; uncommon")]
    for planned, run, said in zip(filters, runs, words, strict=True):
        remarks += [f"{planned.kind.name}: {line}" for line in said]
        if run.ended_by != AT_ONCE and hours_of_use(run.volume, _use(answers)) < SHORT_RUN:
            why = BARELY if run.ended_by == LIMIT else SMALL
            remarks.append(f"{planned.kind.name}: that is short; {why}")
        if planned.kind.beside:
            remarks.append(f"{planned.kind.name}: {SOLIDS_ONLY.format(beside=planned.kind.beside)}")
    return tuple(remarks)
