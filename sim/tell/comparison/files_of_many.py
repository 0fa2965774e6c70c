"""The files of many runs: their spread and means first, then one of the runs as an example, drawn as any other."""

from collections.abc import Sequence
from dataclasses import replace

from plots.bundle import files_of
from plots.inputs import Head, Measure, Pictures, Report, Sheet, Spread
from plots.words import Name, Sentence, count, label, say
from sim.case.quantities import System
from sim.study.compare import Comparison
from sim.study.frames import as_csv, every_run, means_table, paired_table, run_table
from sim.study.many.repeat import Repeated
from sim.tell.comparison.files_of_one import material
from sim.tell.comparison.first_screen import answer_of, screen_of_many
from sim.tell.comparison.leading import spoken
from sim.tell.comparison.many_rows import headline, row
from sim.tell.comparison.many_words import simulated
from sim.tell.comparison.tables import groups_of_many, text_tables
from sim.tell.comparison.views import table_notes
from sim.tell.present import UNITS, Row


def repeated_files(
    repeated: Repeated, example: Comparison, system: System, head: Head, *, png: bool = False
) -> dict[str, str | bytes]:
    """Texts and bytes by file name; `example` is the first replicate, at the constants that the case gives."""
    made = material(example, system)
    drawn = replace(made.pictures, spread=spreads(repeated, system), example=example_words(repeated))
    first = Sheet(name=label("sheet.comparison"), table=means_table(repeated))
    others = [replace(each, name=label("sheet.example", sheet=Name(each.name.lower()))) for each in made.sheets[1:-2]]
    differences = Sheet(name=label("sheet.differences"), table=paired_table(repeated))
    runs = Sheet(name=label("sheet.every_run"), table=every_run(repeated))
    sheets = (first, differences, runs, *others, *made.sheets[-2:])
    return files_of(drawn, _report(repeated, made.report, drawn, system), sheets, head, png=png) | {
        "kpis.csv": as_csv(means_table(repeated)),
        "paired.csv": as_csv(paired_table(repeated)),
        "replicates.csv": as_csv(every_run(repeated)),
        "example_runs.csv": as_csv(run_table(example.results, repeated.case.run.start)),
    }


def example_words(repeated: Repeated) -> Sentence:
    """Which run is shown where only one can be."""
    runs = count(repeated.figures.replicates)
    return say("drawn.example_typical", runs=runs) if repeated.uncertain else say("drawn.example", runs=runs)


def spreads(repeated: Repeated, system: System) -> tuple[Spread, ...]:
    """The figures that stand first, every run of them."""
    return tuple(_spread(repeated, row(repeated, kpi, system), system) for kpi in headline(repeated)[:3])


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
    ways, groups = repeated.figures.policies, groups_of_many(repeated, system)
    return replace(
        made,
        answer=answer_of(screen_of_many(repeated, system)),
        simulated=simulated(repeated),
        facts=(*made.facts, (label("fact.runs"), count(repeated.figures.replicates))),
        comparison=text_tables(groups, ways),
        comparison_notes=table_notes(groups, ways, many=True),
        dissolved=None,
        drawn_note=f"{drawn.example} {made.drawn_note}".strip(),
        week=f"{drawn.example} {made.week}",
    )
