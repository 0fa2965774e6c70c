"""The files of many runs: their spread and means first, then one of the runs as an example, drawn as any other."""

from collections.abc import Sequence
from dataclasses import replace

from plots.bundle import files_of
from plots.inputs import Column, Measure, Pictures, Report, Sheet, Spread, TextTable
from sim.case.quantities import System
from sim.study.compare import Comparison
from sim.study.frames import as_csv, every_run, means_table, paired_table, run_table
from sim.study.many.arrays import SITE
from sim.study.many.repeat import Repeated
from sim.tell.comparison.answer import spoken
from sim.tell.comparison.files_of_one import material
from sim.tell.comparison.many_rows import row, rows
from sim.tell.comparison.many_words import MARK_LEGEND, answer, foremost, headline, remarks, simulated, verdicts
from sim.tell.comparison.views import POLICIES_ACROSS, SITE_SUMS
from sim.tell.present import UNITS, Row
from sim.tell.sentences import clock


def repeated_files(repeated: Repeated, example: Comparison, system: System) -> dict[str, str | bytes]:
    """Texts and bytes by file name; `example` is the first replicate, at the constants that the case gives."""
    made = material(example, system)
    drawn = replace(made.pictures, spread=spreads(repeated, system), example=example_words(repeated))
    first = Sheet(name="Comparison", table=means_table(repeated))
    others = [replace(each, name=f"Example, {each.name.lower()}") for each in made.sheets[1:-2]]
    differences = Sheet(name="Differences", table=paired_table(repeated))
    runs = Sheet(name="Every run", table=every_run(repeated))
    sheets = (first, differences, runs, *others, *made.sheets[-2:])
    return files_of(drawn, _report(repeated, made.report, drawn, system), sheets) | {
        "kpis.csv": as_csv(means_table(repeated)),
        "paired.csv": as_csv(paired_table(repeated)),
        "replicates.csv": as_csv(every_run(repeated)),
        "example_runs.csv": as_csv(run_table(example.results, repeated.case.run.start)),
    }


def example_words(repeated: Repeated) -> str:
    """Which run is shown where only one can be."""
    typical = ", at the typical value of every assumed constant" if repeated.uncertain else ""
    return f"One run as an example, the first of {repeated.figures.replicates}{typical}."


def spreads(repeated: Repeated, system: System) -> tuple[Spread, ...]:
    """The figures that stand first, every run of them."""
    kpis = headline(repeated)[:3]
    return tuple(_spread(repeated, row(repeated, kpi, system), system) for kpi in kpis)


def _spread(repeated: Repeated, fact: Row, system: System) -> Spread:
    factor = UNITS[system][fact.kpi.quantity].per_result_unit
    names = repeated.figures.policies
    intervals = [repeated.mean(name, fact.kpi.key) for name in names]

    def shown(values: Sequence[float | None]) -> tuple[float, ...]:
        return tuple(float("nan") if value is None else value * factor for value in values)

    return Spread(
        measure=Measure(spoken(fact.kpi, repeated.case), fact.unit),
        values=tuple(tuple((repeated.figures.of(name, fact.kpi.key) * factor).tolist()) for name in names),
        means=shown([each and each.mean for each in intervals]),
        low=shown([each and each.low for each in intervals]),
        high=shown([each and each.high for each in intervals]),
        texts=fact.texts,
    )


def _report(repeated: Repeated, made: Report, drawn: Pictures, system: System) -> Report:
    """The report of the example with what all runs say in place of what it says."""
    told = " ".join([*foremost(repeated), f"{simulated(repeated)}.", *answer(repeated, system)])
    notes = [MARK_LEGEND] if len(repeated.figures.policies) > 1 else []
    notes += [SITE_SUMS] if len(repeated.case.stages) > 1 else []
    sentences = verdicts(repeated, system)
    return replace(
        made,
        simulated=f"{simulated(repeated)}, from {clock(repeated.case.run.start)}",
        facts=(*made.facts, ("replicates", str(repeated.figures.replicates))),
        answer=told[0].upper() + told[1:],
        verdicts=sentences,
        comparison=_tables(repeated, system),
        comparison_notes=(*notes, *remarks(repeated, system)),
        drawn_note=f"{drawn.example} {made.drawn_note}".strip(),
        week=f"{drawn.example} {made.week}",
    )


def _tables(repeated: Repeated, system: System) -> tuple[TextTable, ...]:
    """Means with their intervals, for the site and for each of several stages; many policies in several tables."""
    stages = [stage.name for stage in repeated.case.stages]
    places = [("Site" if len(stages) > 1 else "All figures", SITE)]
    places += [(f"Stage {name}", name) for name in stages] if len(stages) > 1 else []
    count = len(repeated.figures.policies)
    parts = [range(first, min(first + POLICIES_ACROSS, count)) for first in range(0, count, POLICIES_ACROSS)]
    return tuple(
        _table(f"{caption}, means", rows(repeated, system, place), repeated.figures.policies, part)
        for caption, place in places
        for part in parts
    )


def _table(caption: str, groups: Sequence[Sequence[Row]], names: Sequence[str], part: range) -> TextTable:
    lines = [line for group in groups for line in group]
    return TextTable(
        caption=caption,
        columns=(Column("what starts a wash", "words"), *(Column(names[place], "numbers") for place in part)),
        rows=tuple((line.label.strip(), *(line.texts[place] for place in part)) for line in lines),
        strong=frozenset(
            (number, column)
            for number, line in enumerate(lines)
            for column, place in enumerate(part, 1)
            if place in line.best
        ),
        starts=frozenset(sum(len(group) for group in groups[:place]) for place in range(1, len(groups))),
        indented=frozenset(number for number, line in enumerate(lines) if line.label.startswith(" ")),
        even=True,
    )
