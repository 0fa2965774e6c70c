"""From answers to the text of a case file, and to what a person should know of it."""

from collections.abc import Sequence
from pathlib import Path

from hydraulics.media import VALVE_RATE
from sim.case.load import read_case
from sim.case.record import record
from sim.case.records import Assumption, Case
from sim.write.answers import COMMON, Answers
from sim.write.assumed import assumed_line
from sim.write.bed_limits import Limit, limits_of
from sim.write.blocks import filter_blocks, site_blocks
from sim.write.document import Section, text_of
from sim.write.plan import Filter, plan_of
from sim.write.sections import SOLIDS_ONLY, filter_sections, opening
from sim.write.ways import Ruled, first_words, policy_sections, ruled_of, run_words
from sim.write.written import plain

UNIT = "the water feeds a membrane: take the ## away from [downstream] so that its unit is followed too"


@record
class NewCase:
    """The text of a case file, the case it holds, and remarks for whoever asked for it: `first` those to know before
    all else, as the file has them too."""

    text: str
    case: Case
    first: tuple[str, ...]
    remarks: tuple[str, ...]


def new_case(answers: Answers, path: Path) -> NewCase:
    """A commented case that every command accepts; `path` is where it is going to be."""
    filters = plan_of(answers)
    bare = _case(answers, filters, [Limit(answers.limit.text, answers.limit.value, "")] * len(filters), path)
    limits = limits_of(answers, bare)
    case = _case(answers, filters, limits, path)
    ruled = ruled_of(case, [limit.text for limit in limits])
    first = first_words(case, ruled, answers.units)
    sections = _sections(answers, filters, limits, first)
    _leave_out(sections, case.assumptions, answers)
    _add_blocks(sections, answers, case, filters, ruled)
    text = text_of([*sections, *policy_sections(filters, ruled, answers.units)])
    remarks = (*_raised(case, filters, limits), *_remarks(answers, filters, ruled))
    return NewCase(text=text, case=read_case(text, path, {}), first=first, remarks=remarks)


def _case(answers: Answers, filters: Sequence[Filter], limits: Sequence[Limit], path: Path) -> Case:
    """The case with something that starts its washes, so that the rest can be read before that is known."""
    lines = [f'"{planned.name}" = {{ start_on = "volume", volume = "1 m3" }}' for planned in filters]
    provisional = Section("[policy.provisional]", "", lines)
    return read_case(text_of([*_sections(answers, filters, limits, ()), provisional]), path, {})


def _sections(
    answers: Answers, filters: Sequence[Filter], limits: Sequence[Limit], first: Sequence[str]
) -> list[Section]:
    sections = opening(answers, filters, first)
    for place, limit in enumerate(limits):
        sections += filter_sections(answers, filters, place, limit)
    return sections


def _leave_out(sections: Sequence[Section], assumptions: Sequence[Assumption], answers: Answers) -> None:
    """Every assumed constant as a line in the section where its key belongs."""
    by_path = {section.path: section for section in sections}
    for assumption in assumptions:
        path = assumption.key.rpartition(".")[0]
        line, comment = assumed_line(assumption, VALVE_RATE * answers.area, answers.units)
        by_path[path].say(f"# {line}", comment)


def _add_blocks(
    sections: list[Section], answers: Answers, case: Case, filters: Sequence[Filter], ruled: Sequence[Ruled]
) -> None:
    """Each block below the table that it may belong to."""
    below = {"demand": site_blocks(answers, filters, ruled)}
    below |= {f"stage.{each.name}": filter_blocks(answers, case, k, each) for k, each in enumerate(ruled)}
    for path, blocks in below.items():
        place = next(place for place, section in enumerate(sections) if section.path == path and section.header)
        sections[place + 1 : place + 1] = blocks


def _raised(case: Case, filters: Sequence[Filter], limits: Sequence[Limit]) -> list[str]:
    drunk = "; water that may be drunk has the limit of local codes, whatever this bed can keep" * case.may_be_drunk
    return [
        f"{planned.name}: its limit is {limit.text}, since its clean bed cannot keep {limit.instead_of}{drunk}"
        for planned, limit in zip(filters, limits, strict=True)
        if limit.instead_of
    ]


def _remarks(answers: Answers, filters: Sequence[Filter], ruled: Sequence[Ruled]) -> tuple[str, ...]:
    rate = answers.flow.value / answers.area
    shown = plain(rate, "rate", answers.units, 3)
    low, high = COMMON
    remarks = [f"filtration rate at the flow of use: {shown}" + ("" if low <= rate <= high else "; uncommon")]
    remarks += [run_words(each, answers.units) for each in ruled]
    remarks += [
        f"{each.name}: {SOLIDS_ONLY.format(missing=each.kind.missing)}" for each in filters if each.solids_only
    ]
    return (*remarks, UNIT) if answers.use == "membrane" else tuple(remarks)
