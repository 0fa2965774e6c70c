"""The findings of a review in words and figures, for whatever shows them."""

import math
from collections.abc import Iterable, Iterator, Sequence

from sim.case.quantities import System
from sim.case.records import Case
from sim.review.findings import Finding, Level
from sim.review.site import site_of
from sim.tell.listing import Column, Listing
from sim.tell.present import degrees, measured
from sim.tell.sentences import CAUTION, PLANT_CAUTIONS, SITE, joined

LEVELS: dict[Level, str] = {
    "stop": "to be put right before anything is washed or bought",
    "look": "unusual, or not stated",
    "fine": "looked at, nothing to do",
}
MORE = "More: --all shows what is fine, every source, and the usual ranges of what is assumed."
CAUTIONS = (*PLANT_CAUTIONS, CAUTION)


def tally(findings: Iterable[Finding]) -> str:
    """How many findings there are of each level.

    >>> tally([Finding(level="stop", stage=None, what="")])
    '1 stop, 0 look, 0 fine'
    """
    levels = [finding.level for finding in findings]
    return ", ".join(f"{levels.count(level)} {level}" for level in LEVELS)


def conditions(case: Case, system: System) -> str:
    """What the review held the design against: the ends of water and demand."""
    site = site_of(case)
    coldest, warmest = degrees(site.coldest, system), degrees(site.warmest, system)
    water = coldest if coldest == warmest else f"{coldest.partition(' ')[0]} to {warmest}"
    return f"water {water}; largest service flow {' '.join(measured(site.peak, 'flow', system))}"


def grouped(findings: Iterable[Finding], level: Level) -> dict[str, list[Finding]]:
    """The findings of a level by stage, those of the site first."""
    groups: dict[str, list[Finding]] = {}
    for finding in findings:
        if finding.level == level:
            groups.setdefault(finding.stage or SITE, []).append(finding)
    return groups


def figure_words(finding: Finding, system: System) -> str:
    """The figure with its unit, empty where there is none."""
    if finding.value is None or finding.measure is None:
        return ""
    if not math.isfinite(finding.value):
        return "the grains are carried away"
    number, unit = measured(abs(finding.value), finding.measure, system)
    if finding.measure == "length" and finding.value < 0.0:
        return f"none, short by {_joined(number, unit)}"
    return _joined("-" * (finding.value < 0.0) + number, unit)


def band_words(finding: Finding, system: System) -> str:
    """What the figure is held against, empty where there is nothing."""
    if finding.measure is None:
        return ""
    bounds = [measured(bound, finding.measure, system) for bound in (finding.low, finding.high) if bound is not None]
    if not bounds:
        return ""
    if len(bounds) == 2:
        both = _joined(f"{bounds[0][0]} to {bounds[1][0]}", bounds[1][1])
        return f"past a goal of {both}" if finding.is_past_its_goal else both
    return f"{'at least' if finding.high is None else 'at most'} {_joined(*bounds[0])}"


def _joined(number: str, unit: str) -> str:
    return f"{number}{'' if unit in ('', '%') else ' '}{unit}"


def worst_first(findings: Iterable[Finding]) -> tuple[tuple[Finding, ...], ...]:
    """What there is to do, the stops first; findings with the same thing to do stand together."""
    groups: dict[tuple[Level, str], list[Finding]] = {}
    for level in LEVELS:
        for each in findings:
            if each.level == level != "fine":
                groups.setdefault((level, each.do or each.what), []).append(each)
    return tuple(tuple(each) for each in groups.values())


def alike_words(alike: Sequence[Finding]) -> str:
    """How many findings are like the one told; "" for none."""
    return f" (and {len(alike)} more like it)" if alike else ""


def more_words(found: Sequence[Finding]) -> Iterator[str]:
    """How many findings there are beside those shown."""
    if found:
        counts = {"to stop for": "stop", "to look at": "look"}
        told = {words: sum(each.level == level for each in found) for words, level in counts.items()}
        yield f"Findings not shown here: {joined([f'{count} {words}' for words, count in told.items() if count])}."


def finding_words(finding: Finding, known: tuple[str, ...], system: System) -> Iterator[str]:
    """The finding in a line, with the number of its source where they are `known`; what is to do in another."""
    figure, band = figure_words(finding, system), band_words(finding, system)
    told = finding.what + (f": {figure}" if figure else "") + (f"; held against {band}" if band else "")
    yield f"{told} [{known.index(finding.source) + 1}]" if known else told
    if finding.do:
        yield f"do: {finding.do}"


def fine_listing(findings: Iterable[Finding], known: tuple[str, ...], system: System) -> Listing:
    """The findings with nothing to do, a row each."""
    return Listing(
        columns=(
            Column("stage", "words"),
            Column("what", "long words"),
            Column("figure", "long words"),
            Column("held against", "long words"),
            Column("source", "numbers"),
        ),
        rows=tuple(
            (
                finding.stage or SITE,
                finding.what,
                figure_words(finding, system),
                band_words(finding, system),
                f"[{known.index(finding.source) + 1}]",
            )
            for finding in findings
            if finding.level == "fine"
        ),
    )


def finding_sources(findings: Iterable[Finding]) -> tuple[str, ...]:
    """Where the bands come from, each source once, in the order of its first use."""
    return tuple(dict.fromkeys(finding.source for finding in findings))
