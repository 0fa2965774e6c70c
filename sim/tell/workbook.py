"""Every table of a study for a workbook: display units, named in the heads, numbers as numbers."""

from collections.abc import Sequence

import pandas as pd

from plots.inputs import Course, Pictures, Sheet
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
from sim.tell.sentences import CAUTION, cause_words
from sim.tell.trigger.settings_sheet import settings_listing, steps_listing

SITE = "site"


def sheets(comparison: Comparison, drawn: Pictures, weeks: Sequence[Week], system: System) -> tuple[Sheet, ...]:
    """The sheets in the order of the report."""
    return (
        Sheet(name="Comparison", table=comparison_table(comparison, system)),
        *settings_sheets(comparison, system),
        Sheet(name="Filter runs", table=runs_table(comparison, system)),
        Sheet(name="Weeks", table=weeks_table(comparison, weeks, system)),
        Sheet(name="Events", table=events_table(comparison, system)),
        Sheet(name="Through time", table=course_table(drawn.courses)),
        Sheet(name="Bed", table=bed_table(drawn)),
        Sheet(name="Assumed", table=assumed_rows(comparison.case, system)),
        Sheet(name="About", table=about_table(comparison)),
    )


def settings_sheets(comparison: Comparison, system: System) -> tuple[Sheet, ...]:
    """What is to be set at the filters."""
    names = [each.policy for each in comparison.results]
    listings = {
        "Settings": settings_listing(comparison.case, names, system),
        "Wash steps": steps_listing(comparison.case, comparison.results, system),
    }
    return tuple(
        Sheet(name=name, table=_objects(listing.rows, [column.head for column in listing.columns]))
        for name, listing in listings.items()
    )


def head(words: str, quantity: Quantity, system: System) -> str:
    """The head of a column: words and unit."""
    symbol = UNITS[system][quantity].symbol
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
            rows.append([place, head(kpi.words.strip(), kpi.quantity, system), *values])
    return _objects(rows, ["stage", "figure", *(each.policy for each in comparison.results)])


def runs_table(comparison: Comparison, system: System) -> pd.DataFrame:
    """Every filter run of every policy."""
    runs = [(each.policy, run) for each in comparison.results for run in each.runs]
    start = comparison.case.run.start
    columns = {
        "what starts a wash": [policy for policy, _ in runs],
        "stage": [run.stage for _, run in runs],
        "vessel": [run.vessel for _, run in runs],
        "no.": [run.number for _, run in runs],
        "in service from": [moment(start, run.start_s) for _, run in runs],
        "to": [moment(start, run.end_s) for _, run in runs],
        "what started the wash": [cause_words(run) for _, run in runs],
        head("treated", "volume", system): shown([run.volume_m3 for _, run in runs], "volume", system),
        head("clean bed", "pressure", system): shown([run.clean_dp_kpa for _, run in runs], "pressure", system),
        head("at the end", "pressure", system): shown([run.end_dp_kpa for _, run in runs], "pressure", system),
        head("over the limit", "hours", system): shown([run.over_limit_h for _, run in runs], "hours", system),
        "broke through": ["yes" if run.broke_through else "no" for _, run in runs],
        head("unused", "share", system): shown([run.unused_capacity for _, run in runs], "share", system),
    }
    return pd.DataFrame(columns, dtype=object)


def weeks_table(comparison: Comparison, weeks: Sequence[Week], system: System) -> pd.DataFrame:
    """Every week of every policy."""
    start = comparison.case.run.start
    columns = {
        "what starts a wash": [week.policy for week in weeks],
        "week": [week.number for week in weeks],
        "from": [moment(start, week.start_s) for week in weeks],
        "to": [moment(start, week.end_s) for week in weeks],
        head("over the limit", "hours", system): [week.over_limit_h for week in weeks],
        "washes": [week.washes for week in weeks],
        head("water to drain", "volume", system): shown([week.drain_m3 for week in weeks], "volume", system),
    }
    return pd.DataFrame(columns, dtype=object)


def events_table(comparison: Comparison, system: System) -> pd.DataFrame:
    """Every event of every policy."""
    log = [(each.policy, entry) for each in comparison.results for entry in each.log]
    start = comparison.case.run.start
    columns = {
        "what starts a wash": [policy for policy, _ in log],
        "time": [moment(start, entry.time_s) for _, entry in log],
        "stage": [entry.who for _, entry in log],
        "what happened": [event_words(entry)[0] for _, entry in log],
        "why": [event_words(entry)[1] for _, entry in log],
        head("water", "volume", system): shown([entry.volume_m3 for _, entry in log], "volume", system),
        head("solids", "mass", system): shown([entry.solids_kg for _, entry in log], "mass", system),
    }
    return pd.DataFrame(columns, dtype=object)


def course_table(courses: Sequence[Course]) -> pd.DataFrame:
    """The samples that the figures through time show; empty where a stage was not in service."""
    parts = [
        pd.DataFrame(
            {
                "what starts a wash": course.policy,
                "stage": course.stage,
                "time": course.table["time"],
                f"{course.pressure.words}, {course.pressure.unit}": course.table["pressure"],
                f"{course.solids.words}, {course.solids.unit}": course.table["solids"],
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
                "what starts a wash": bed.slices["policy"],
                "stage": bed.stage,
                "filter run ended": bed.slices["policy"].map(bed.ends),
                f"from depth, {bed.depth.unit}": bed.slices["top"],
                f"to depth, {bed.depth.unit}": bed.slices["bottom"],
                f"deposit, {bed.deposit.unit}": bed.slices["deposit"],
            }
        )
        for bed in drawn.beds
    ]
    return pd.concat(parts, ignore_index=True)


def assumed_rows(case: Case, system: System) -> pd.DataFrame:
    """Every assumed constant; its unit stands beside it, as it differs from row to row."""
    rows = []
    for each in case.assumptions:
        unit, value, low, high = constant(each, system)
        rows.append([each.key, *(_cell(text) for text in (low, value, high)), unit, each.source])
    return _objects(rows, ["constant", "low", "typical, used", "high", "unit", "source"])


def _cell(text: str) -> float | str:
    """A number as one; a choice by its name."""
    try:
        return float(text)
    except ValueError:
        return text


def about_table(comparison: Comparison) -> pd.DataFrame:
    """What was run, and the caution."""
    rows = [["caution", CAUTION], *([name, value] for name, value in facts(comparison))]
    return _objects(rows, ["what", "is"])


def _objects(rows: Sequence[Sequence[object]], columns: Sequence[str]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=list(columns), dtype=object)
