"""Every table of a study for a workbook: display units, named in the heads, numbers as numbers."""

from collections.abc import Sequence

import pandas as pd

from plots.inputs import Course, Pictures, Sheet
from plots.words import ENGLISH, label, speaking
from sim.case.quantities import Quantity, System
from sim.case.records import Case
from sim.plant.records import Figure
from sim.study.compare import Comparison
from sim.study.moments import moment
from sim.study.weeks import Week
from sim.tell.comparison.views import facts
from sim.tell.kpis import GROUPS, LEDGER
from sim.tell.present import UNITS, constant, converted, is_shown
from sim.tell.run.log_words import event_words
from sim.tell.sentences import cause_words, caution
from sim.tell.trigger.settings_tables import settings_listing, steps_listing

SITE = "site"


def sheets(comparison: Comparison, drawn: Pictures, weeks: Sequence[Week], system: System) -> tuple[Sheet, ...]:
    """The sheets in the order of the report."""
    return (
        Sheet(name=label("workbook.comparison"), table=comparison_table(comparison, system)),
        *settings_sheets(comparison, system),
        Sheet(name=label("workbook.runs"), table=runs_table(comparison, system)),
        Sheet(name=label("workbook.weeks"), table=weeks_table(comparison, weeks, system)),
        Sheet(name=label("workbook.events"), table=events_table(comparison, system)),
        Sheet(name=label("workbook.course"), table=course_table(drawn.courses)),
        Sheet(name=label("workbook.bed"), table=bed_table(drawn)),
        Sheet(name=label("workbook.assumed"), table=assumed_rows(comparison.case, system)),
        Sheet(name=label("workbook.about"), table=about_table(comparison)),
    )


def settings_sheets(comparison: Comparison, system: System) -> tuple[Sheet, ...]:
    """What is to be set at the filters."""
    names = [each.policy for each in comparison.results]
    listings = {
        label("workbook.settings"): settings_listing(comparison.case, names, system),
        label("workbook.steps"): steps_listing(comparison.case, comparison.results, system),
    }
    return tuple(
        Sheet(name=name, table=_objects(listing.rows, [column.head for column in listing.columns]))
        for name, listing in listings.items()
    )


def head(words: str, quantity: Quantity, system: System) -> str:
    """The head of a column: words and unit."""
    return with_unit(words, UNITS[system][quantity].symbol)


def with_unit(words: str, symbol: str) -> str:
    """Words and a unit, if there is one."""
    return f"{words}, {symbol}" if symbol else words


def shown(values: Sequence[Figure], quantity: Quantity, system: System) -> list[float | int | None]:
    """Figures in their display unit; whole numbers stay whole."""
    unit = UNITS[system][quantity]
    return [value if unit.per_result_unit == 1.0 else converted(value, unit) for value in values]


def comparison_table(comparison: Comparison, system: System) -> pd.DataFrame:
    """Every figure of the site and of each stage, a column for each policy."""
    known = {kpi.key: kpi for kpi in [*LEDGER, *(kpi for group in GROUPS for kpi in group)]}
    places = [SITE, *(stage.name for stage in comparison.case.stages)]
    rows = []
    for place in places:
        for kpi in known.values():
            figures = [each.site if place == SITE else each.stages[place] for each in comparison.results]
            if not is_shown(kpi, figures):
                continue
            values = shown([each[kpi.key] for each in figures], kpi.quantity, system)
            rows.append([place, head(kpi.words, kpi.quantity, system), *values])
    heads = label("column.stage"), label("workbook.figure"), *(each.policy for each in comparison.results)
    return _objects(rows, heads)


def runs_table(comparison: Comparison, system: System) -> pd.DataFrame:
    """Every filter run of every policy."""
    runs = [(each.policy, run) for each in comparison.results for run in each.runs]
    treated, over = head(label("workbook.treated"), "volume", system), head(label("workbook.over"), "hours", system)
    clean, end = (head(words, "pressure", system) for words in (label("workbook.clean"), label("workbook.end")))
    unused = head(label("workbook.unused"), "share", system)
    start = comparison.case.run.start
    columns = {
        label("settings.way"): [policy for policy, _ in runs],
        label("column.stage"): [run.stage for _, run in runs],
        label("run_column.vessel"): [run.vessel for _, run in runs],
        label("run_column.number"): [run.number for _, run in runs],
        label("run_column.from"): [moment(start, run.start_s) for _, run in runs],
        label("run_column.to"): [moment(start, run.end_s) for _, run in runs],
        label("run_column.cause"): [cause_words(run) for _, run in runs],
        treated: shown([run.volume_m3 for _, run in runs], "volume", system),
        clean: shown([run.clean_dp_kpa for _, run in runs], "pressure", system),
        end: shown([run.end_dp_kpa for _, run in runs], "pressure", system),
        over: shown([run.over_limit_h for _, run in runs], "hours", system),
        label("workbook.broke_through"): [
            label("workbook.yes") if run.broke_through else label("workbook.no") for _, run in runs
        ],
        unused: shown([run.unused_capacity for _, run in runs], "share", system),
    }
    left = [run.capacity_left for _, run in runs]
    if any(each is not None for each in left):
        columns[head(label("workbook.left"), "share", system)] = shown(left, "share", system)
    return pd.DataFrame(columns, dtype=object)


def weeks_table(comparison: Comparison, weeks: Sequence[Week], system: System) -> pd.DataFrame:
    """Every week of every policy."""
    start = comparison.case.run.start
    columns = {
        label("settings.way"): [week.policy for week in weeks],
        label("workbook.week"): [week.number for week in weeks],
        label("workbook.from"): [moment(start, week.start_s) for week in weeks],
        label("run_column.to"): [moment(start, week.end_s) for week in weeks],
        head(label("workbook.over"), "hours", system): [week.over_limit_h for week in weeks],
        label("workbook.washes"): [week.washes for week in weeks],
        head(label("workbook.drain"), "volume", system): shown([week.drain_m3 for week in weeks], "volume", system),
    }
    return pd.DataFrame(columns, dtype=object)


def events_table(comparison: Comparison, system: System) -> pd.DataFrame:
    """Every event of every policy."""
    log = [(each.policy, entry) for each in comparison.results for entry in each.log]
    start = comparison.case.run.start
    water, solids = head(label("workbook.water"), "volume", system), head(label("workbook.solids"), "mass", system)
    columns = {
        label("settings.way"): [policy for policy, _ in log],
        label("log.time"): [moment(start, entry.time_s) for _, entry in log],
        label("column.stage"): [entry.who for _, entry in log],
        label("log.what"): [event_words(entry)[0] for _, entry in log],
        label("log.why"): [event_words(entry)[1] for _, entry in log],
        water: shown([entry.volume_m3 for _, entry in log], "volume", system),
        solids: shown([entry.solids_kg for _, entry in log], "mass", system),
    }
    return pd.DataFrame(columns, dtype=object)


def course_table(courses: Sequence[Course]) -> pd.DataFrame:
    """The samples that the figures through time show; empty where a stage was not in service."""
    parts = [
        pd.DataFrame(
            {
                label("settings.way"): course.policy,
                label("column.stage"): course.stage,
                label("log.time"): course.table["time"],
                with_unit(course.pressure.words, course.pressure.unit): course.table["pressure"],
                with_unit(course.solids.words, course.solids.unit): course.table["solids"],
                **{with_unit(each.words, each.unit): course.table[each.words] for each in course.dissolved},
            }
        )
        for course in courses
    ]
    return pd.concat(parts, ignore_index=True)


def bed_table(drawn: Pictures) -> pd.DataFrame:
    """The deposit by depth that the sections show."""
    parts = [
        pd.DataFrame(
            {
                label("settings.way"): bed.slices["policy"],
                label("column.stage"): bed.stage,
                label("workbook.run_ended"): bed.slices["policy"].map(bed.ends),
                with_unit(label("workbook.from_depth"), bed.depth.unit): bed.slices["top"],
                with_unit(label("workbook.to_depth"), bed.depth.unit): bed.slices["bottom"],
                with_unit(label("workbook.deposit"), bed.deposit.unit): bed.slices["deposit"],
            }
        )
        for bed in drawn.beds
    ]
    return pd.concat(parts, ignore_index=True)


def assumed_rows(case: Case, system: System) -> pd.DataFrame:
    """Every assumed constant; its unit stands beside it, as it differs from row to row."""
    rows = []
    for each in case.assumptions:
        with speaking(ENGLISH):  # whose numbers can be read again
            unit, value, low, high = constant(each, system)
        rows.append([each.key, *(_cell(text) for text in (low, value, high)), unit, each.source])
    heads = (
        label("constant.name"), label("constant.low"), label("workbook.typical"), label("constant.high"),
        label("column.unit"), label("constant.source"),
    )  # fmt: skip
    return _objects(rows, heads)


def _cell(text: str) -> float | str:
    """A number as one; a choice by its name."""
    try:
        return float(text.replace(",", ""))
    except ValueError:
        return text


def about_table(comparison: Comparison) -> pd.DataFrame:
    """What was run, and the caution."""
    rows = [[label("workbook.caution"), caution()], *([name, value] for name, value in facts(comparison))]
    return _objects(rows, [label("workbook.fact"), label("workbook.is")])


def _objects(rows: Sequence[Sequence[object]], columns: Sequence[str]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=list(columns), dtype=object)
