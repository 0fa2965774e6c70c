"""The findings of a review in words and figures, for whatever shows them."""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any, Final, cast, get_args

from plots.words import (
    Amount,
    Argument,
    Code,
    Kind,
    Label,
    Name,
    Number,
    Sentence,
    amount,
    apart,
    colon,
    label,
    localised,
    say,
    span,
    term,
)
from sim.case.quantities import Quantity, System
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.case.trigger.records import Policy
from sim.case.units import MINUTE
from sim.review.findings import Cited, Finding, Level
from sim.review.meeting import meetings
from sim.review.site import site_of, wash_length
from sim.study.check import Checked
from sim.tell.listing import Column, Listing
from sim.tell.present import SIGNIFICANT, amount_of, degrees, measured
from sim.tell.review.told_words import remedy_words, solved_words
from sim.tell.sentences import assumed_count, at_the_plant, caution, fault_words, of_chemicals

LEVELS: Final[tuple[Level, ...]] = get_args(Level)
MOST_DIGITS: Final = 17

_ARGUMENTS: Final[Mapping[str, Callable[[str], Argument]]] = {
    "way": Name, "one": Name, "other": Name, "constant": Code, "medium": partial(term, "medium"),
    "below_it": partial(term, "medium"), "oxidant": partial(term, "oxidant"),
}  # fmt: skip
"""What a fact is in a message; the others choose its variant."""


def tally(findings: Iterable[Finding]) -> Label:
    """How many findings there are of each level.

    >>> tally([Finding(name="no_air_gap", level="stop", stage=None, facts={})])
    '1 stop, 0 look, 0 fine'
    """
    levels = [finding.level for finding in findings]
    return label("finding.tally", stop=levels.count("stop"), look=levels.count("look"), fine=levels.count("fine"))


def takes_words(stage: Stage) -> Sentence:
    """How long a wash of a filter takes."""
    return say("page.plant.takes", minutes=_minutes(wash_length(stage)))


def meeting_words(case: Case, policy: Policy) -> Iterator[Sentence]:
    """For how long washes of two filters are due at once, and how far apart their starts would have to be."""
    for one, other, shared, spacing in meetings(case, policy):
        yield say("page.plant.meet", one=Name(one.name), other=Name(other.name), shared=_minutes(shared),
                  apart=_minutes(spacing))  # fmt: skip


def _minutes(seconds: float) -> Amount:
    return amount(localised(f"{seconds / MINUTE:.3g}"), "min")


def conditions(case: Case, system: System) -> Label:
    """What the review held the design against: the ends of water and demand."""
    site = site_of(case)
    flow, warmest = amount_of(site.peak, "flow", system), degrees(site.warmest, system)
    if site.coldest == site.warmest:
        return label("finding.steady_conditions", water=warmest, flow=flow)
    return label("finding.conditions", coldest=degrees(site.coldest, system), warmest=warmest, flow=flow)


def place_words(finding: Finding) -> Label | Name:
    """The stage of a finding, or the site."""
    return label("finding.site") if finding.stage is None else Name(finding.stage)


def what_words(finding: Finding) -> Label | Sentence:
    """What was looked at, as the head of a figure; what was found where there is none."""
    facts = cast(Mapping[str, str], finding.facts)
    arguments: Any = {name: _ARGUMENTS.get(name, Kind)(each) for name, each in facts.items()}
    if finding.measure is None:
        return say(f"check.{finding.name}.what", **arguments)
    return label(f"check.{finding.name}", **arguments)


def do_words(finding: Finding) -> Sentence | None:
    """What to do, None where nothing is to be done."""
    if finding.advice is None:
        return None
    return say("check.kept" if finding.advice == "kept" else f"check.{finding.name}.{finding.advice}")


def source_words(finding: Finding) -> Label | Name:
    """Where the band comes from."""
    source = finding.band.source
    return Name(source.text) if isinstance(source, Cited) else label(f"source.{source}")


def figure_words(finding: Finding, case: Case, system: System) -> Label | Amount | None:
    """The figure with its unit; None where nothing is measured."""
    value, measure = finding.value, finding.measure
    if value is None or measure is None:
        return None
    if not math.isfinite(value):
        return label("finding.carried_away") if measure == "length" else label("finding.none")
    digits = _digits(finding, value, measure, case, system)
    if measure == "length" and value < 0.0:
        return label("finding.short", amount=amount(*_measured(-value, measure, case, system, digits)))
    return amount(*_measured(value, measure, case, system, digits))


def band_words(finding: Finding, case: Case, system: System) -> Label | Amount | None:
    """What the figure is held against; None where there is nothing."""
    low, high, value, measure = finding.band.low, finding.band.high, finding.value, finding.measure
    if value is None or measure is None or low is high is None:
        return None
    if low is None and high == 0.0:
        return label("finding.none")
    digits = _digits(finding, value, measure, case, system)
    ends = [_measured(each, measure, case, system, digits) for each in (low, high) if each is not None]
    both = span(ends[0][0], ends[-1][0], ends[0][1])
    past = finding.band.side(value) if finding.level == "fine" else None
    if high is None:
        return label("finding.at_least", amount=both)
    if low is None:
        return label("finding.at_most", amount=both)
    return label("finding.goal", side=Kind(past), amount=both) if past else both


def _digits(finding: Finding, value: float, measure: Quantity, case: Case, system: System) -> int:
    """So many that a figure beyond a bound does not read as the bound itself."""
    beyond = {"below": finding.band.low, "above": finding.band.high, None: None}[finding.band.side(value)]
    if beyond is None:
        return SIGNIFICANT
    written = ([_measured(each, measure, case, system, digits) for each in (value, beyond)]
               for digits in range(SIGNIFICANT, MOST_DIGITS))  # fmt: skip
    return next(digits for digits, (own, bound) in enumerate(written, SIGNIFICANT) if own != bound)


def _measured(value: float, measure: Quantity, case: Case, system: System, digits: int) -> tuple[Number, Code]:
    """A figure and its unit; solids as turbidity where the case speaks of that."""
    ratio = case.feed.turbidity_ratio
    if measure == "solids" and ratio is not None:
        return measured(value / ratio, "turbidity", system, digits)
    return measured(value, measure, system, digits)


def closing_words(checked: Checked, left: Sequence[Finding], system: System) -> Iterator[Sentence | Label]:
    """What comes below a first screen: findings left out, what was mended or assumed, where to read on, cautions."""
    if left:
        levels = [finding.level for finding in left]
        yield say("check.not_shown", stop=levels.count("stop"), look=levels.count("look"))
    yield from fault_words(checked.case)
    yield from remedy_words(checked.case.remedies)
    yield from solved_words(checked.case, system)
    yield assumed_count(checked.case.assumptions)
    if checked.case.stated:
        yield say("compare.given_range", count=len(checked.case.stated))
    yield say("check.more")
    yield at_the_plant()
    yield from of_chemicals(checked.case.stages)
    yield caution()


def worst_first(findings: Iterable[Finding]) -> tuple[tuple[Finding, ...], ...]:
    """What there is to do, the stops first; findings with the same thing to do come together."""
    groups: dict[tuple[Level, str | None], list[Finding]] = {}
    for level in LEVELS:
        for each in findings:
            if each.level == level != "fine":
                groups.setdefault((level, do_words(each)), []).append(each)
    return tuple(tuple(each) for each in groups.values())


def alike_words(alike: Sequence[Finding]) -> str:
    """How many findings are like the one shown; "" for none."""
    return f" ({label('finding.alike', count=len(alike))})" if alike else ""


def finding_words(finding: Finding, known: Sequence[str], case: Case, system: System) -> tuple[str, Sentence | None]:
    """What was found, with the number of its source where they are `known`, and what to do."""
    figure, band = figure_words(finding, case, system), band_words(finding, case, system)
    line = colon().join(each for each in (what_words(finding), figure) if each)
    if band:
        line = apart([line, f"{label('finding.expected')}{colon()}{band}"])
    if known:
        line = f"{line} [{known.index(source_words(finding)) + 1}]"
    return line, do_words(finding)


def fine_listing(findings: Iterable[Finding], known: Sequence[str], case: Case, system: System) -> Listing:
    """The findings with nothing to do, a row each."""
    return Listing(
        columns=(
            Column(label("column.stage"), "words"),
            Column(label("finding.looked_at"), "long words"),
            Column(label("finding.figure"), "long words"),
            Column(label("finding.expected"), "long words"),
            Column(label("constant.source"), "numbers"),
        ),
        rows=tuple(
            (
                place_words(finding),
                what_words(finding),
                figure_words(finding, case, system) or "",
                band_words(finding, case, system) or "",
                f"[{known.index(source_words(finding)) + 1}]",
            )
            for finding in findings
            if finding.level == "fine"
        ),
    )


def finding_sources(findings: Iterable[Finding]) -> tuple[Label | Name, ...]:
    """Where the bands come from, each source once, in the order of its first use."""
    return tuple(dict.fromkeys(source_words(finding) for finding in findings))
