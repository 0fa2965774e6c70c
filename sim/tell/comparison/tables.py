"""Every figure of a comparison, of one run or of many, for the site and for each of several stages."""

from collections.abc import Mapping, Sequence

from plots.inputs import Column, TextTable
from plots.words import Name, Sentence, label, say
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
        return {label("compare.all"): site}
    named: dict[str, Groups] = {label("compare.stage", stage=Name(each)): own[each] for each in stages}
    return {label("compare.site"): site} | named


def marks(*, many: bool) -> Sentence:
    """What the marks of these tables mean, those of many runs or of one."""
    return say("table.marks_of_many") if many else say("table.marks")


def text_tables(groups: Mapping[str, Groups], ways: Sequence[str]) -> tuple[TextTable, ...]:
    """The tables of a report: many ways in several of them, stages only where these are not too many."""
    firsts = range(0, len(ways), ACROSS)
    shown = list(groups.items())[: None if stages_fit(groups, ways) else 1]
    return tuple(
        _table(caption, own, ways, range(first, min(first + ACROSS, len(ways))))
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
        columns=(Column(label("compare.way"), "words"), *(Column(ways[place], "numbers") for place in part)),
        rows=tuple((line.label, *(line.texts[place] for place in part)) for line in lines),
        strong=frozenset(
            (number, column)
            for number, line in enumerate(lines)
            for column, place in enumerate(part, 1)
            if place in line.best
        ),
        starts=frozenset(firsts),
        indented=frozenset(number for number, line in enumerate(lines) if line.kpi.under),
        even=True,
    )


def text_table(caption: str, listing: Listing) -> TextTable:
    """A listing as a table of a report."""
    columns = tuple(Column(each.head, "numbers" if each.holds == "numbers" else "words") for each in listing.columns)
    return TextTable(caption=caption, columns=columns, rows=listing.rows)
