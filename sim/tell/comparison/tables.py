"""Every figure of a comparison, of one run or of many, for the site and for each of several stages."""

from collections.abc import Mapping, Sequence

from plots.inputs import Column, TextTable
from sim.case.quantities import System
from sim.study.compare import Comparison
from sim.study.doubts import without_verdict
from sim.study.many.arrays import SITE
from sim.study.many.repeat import Repeated
from sim.tell.comparison import many_rows
from sim.tell.listing import Listing
from sim.tell.present import Row, applying, in_currency, rows, unranked

ACROSS = 5  # ways in one table of the report
STAGE_COLUMNS_AT_MOST = 60  # of all stages' tables together
SITE_SUMS = (
    "Site: washes, downtime and water to drain are sums over the stages; treated water and solids sent to "
    "service are the last stage's, time over the limit and breakthrough risk those of the last stage whose water is "
    "judged; the pressure drop is the highest of any stage; the mean run is told by stage, since filters differ."
)
Groups = Sequence[Sequence[Row]]


def groups_of_one(comparison: Comparison, system: System) -> dict[str, Groups]:
    """The rows of one run of each way in groups, by what they are of."""
    case, unjudged = comparison.case, without_verdict(comparison.case)

    def groups(stage: str | None) -> Groups:
        found = in_currency(applying(rows(comparison.results, system, stage)), case)
        return unranked(found) if stage in unjudged else found

    stages = [stage.name for stage in case.stages]
    return _named(stages, groups(None), {stage: groups(stage) for stage in stages})


def groups_of_many(repeated: Repeated, system: System) -> dict[str, Groups]:
    """The means of many runs of each way in groups, by what they are of."""
    stages = [stage.name for stage in repeated.case.stages]
    own = {stage: many_rows.rows(repeated, system, stage) for stage in stages}
    return _named(stages, many_rows.rows(repeated, system, SITE), own)


def _named(stages: Sequence[str], site: Groups, own: Mapping[str, Groups]) -> dict[str, Groups]:
    if len(stages) == 1:
        return {"All figures": site}
    return {"Site": site} | {f"Stage {stage}": own[stage] for stage in stages}


def text_tables(groups: Mapping[str, Groups], ways: Sequence[str], *, means: bool = False) -> tuple[TextTable, ...]:
    """The tables of a report: many ways in several of them, stages only where these are not too many."""
    firsts = range(0, len(ways), ACROSS)
    shown = list(groups.items())[: None if stages_fit(groups, ways) else 1]
    return tuple(
        _table(f"{caption}, means" if means else caption, own, ways, range(first, min(first + ACROSS, len(ways))))
        for caption, own in shown
        for first in firsts
    )


def stages_fit(groups: Mapping[str, Groups], ways: Sequence[str]) -> bool:
    """Whether every stage has a table of its own in a report."""
    return (len(groups) - 1) * len(ways) <= STAGE_COLUMNS_AT_MOST


def _table(caption: str, groups: Groups, ways: Sequence[str], part: range) -> TextTable:
    lines = [line for group in groups for line in group]
    firsts = [sum(len(group) for group in groups[:place]) for place in range(1, len(groups))]
    return TextTable(
        caption=caption,
        columns=(Column("what starts a wash", "words"), *(Column(ways[place], "numbers") for place in part)),
        rows=tuple((line.label.strip(), *(line.texts[place] for place in part)) for line in lines),
        strong=frozenset(
            (number, column)
            for number, line in enumerate(lines)
            for column, place in enumerate(part, 1)
            if place in line.best
        ),
        starts=frozenset(firsts),
        indented=frozenset(number for number, line in enumerate(lines) if line.label.startswith(" ")),
        even=True,
    )


def text_table(caption: str, listing: Listing) -> TextTable:
    """A listing as a table of a report."""
    columns = tuple(Column(each.head, "numbers" if each.holds == "numbers" else "words") for each in listing.columns)
    return TextTable(caption=caption, columns=columns, rows=listing.rows)
