"""Result tables as DataFrames: SI, units in the names, a missing value where a figure does not apply."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

import pandas as pd

from sim.case.records import Case
from sim.plant.records import RunResult
from sim.study.many.repeat import Repeated
from sim.study.single import log_row, run_row

KPI_COLUMNS = (
    "policy",  # what starts a wash: the policy's name in the case
    "stage",  # the stage's name; empty for the whole site
    "kpi",  # the figure's key, with its unit
    "value",  # the figure; empty where it does not apply
)
RUN_COLUMNS = (
    "policy",  # what starts a wash
    "stage",  # the stage that filtered
    "vessel",  # which of the stage's vessels, from 1
    "number",  # count of the vessel's filter runs, from 1
    "start",  # return to service, local date and time
    "end",  # start of the wash, local date and time
    "start_s",  # the same, seconds from the start of the simulation
    "end_s",  # the same, seconds from the start of the simulation
    "cause",  # what started the wash; empty for the run that the end of the simulation cut short
    "volume_m3",  # water delivered to service
    "load_g_m2",  # suspended solids brought to the bed, per area
    "residual_g_m2",  # deposit that the wash before the run left in the bed, per area
    "clean_dp_kpa",  # pressure drop of the clean bed at the flow and temperature of the run's last flow
    "end_dp_kpa",  # pressure drop at the end of the run
    "over_limit_h",  # hours in service over the limit
    "unused_capacity",  # share of the capacity unspent at the wash
    "blocked",  # whether a part of the bed had no pores left
    "broke_through",  # whether its deposit took the filtered water over the limit before the wash
    "capacity_left",  # share of what it can take up of what is dissolved, still free at the wash; empty without any
)
LOG_COLUMNS = (
    "time",  # local date and time
    "time_s",  # seconds from the start of the simulation
    "who",  # the stage
    "what",  # what happened
    "why",  # why it happened then
    "volume_m3",  # water that the phase just ended moved
    "solids_kg",  # suspended solids that the phase just ended moved
)
ASSUMED_COLUMNS = (
    "key",  # dotted path of the constant in the case file
    "value",  # value used
    "low",  # low end of what is usual
    "high",  # high end of what is usual
    "unit",  # unit of the three values
    "source",  # where they come from
)
MEANS_COLUMNS = (
    *KPI_COLUMNS,  # the value: its mean over the runs in which it applies; the share of years for bad_year_share
    "low",  # low end of the 95 % interval of that mean
    "high",  # high end of it
)
PAIRED_COLUMNS = (
    "a",  # one policy
    "b",  # another
    "kpi",  # the figure's key, with its unit
    "mean",  # mean of a's less b's, run by run on the same water and demand
    "low",  # low end of the 95 % interval of that mean
    "high",  # high end of it
    "variance",  # of the difference between runs
    "variance_unpaired",  # what it would be had every policy its own weather
)


def kpi_table(results: Sequence[RunResult]) -> pd.DataFrame:
    """Every figure of every policy, site first, then its stages: KPI_COLUMNS."""
    rows = [
        (each.policy, stage, key, value)
        for each in results
        for stage, figures in [("", each.site), *each.stages.items()]
        for key, value in figures.items()
    ]
    return _table(rows, KPI_COLUMNS)


def run_table(results: Sequence[RunResult], start: datetime) -> pd.DataFrame:
    """Every filter run of every policy: RUN_COLUMNS."""
    rows = ({"policy": each.policy, **run_row(run, start)} for each in results for run in each.runs)
    return _table(rows, RUN_COLUMNS)


def log_table(result: RunResult, start: datetime) -> pd.DataFrame:
    """Every event of one run: LOG_COLUMNS."""
    return _table((log_row(entry, start) for entry in result.log), LOG_COLUMNS)


def assumed_table(case: Case) -> pd.DataFrame:
    """Every constant that the case file leaves out: ASSUMED_COLUMNS."""
    return _table(map(asdict, case.assumptions), ASSUMED_COLUMNS)


def means_table(repeated: Repeated) -> pd.DataFrame:
    """The mean of every figure of every policy, site first, then its stages: MEANS_COLUMNS."""
    rows = []
    for policy in repeated.figures.policies:
        for place in repeated.figures.places:
            for key in repeated.figures.keys:
                mean = repeated.mean(policy, key, place)
                rows.append((policy, place, key, *(mean or (None, None, None))))
    return _table(rows, MEANS_COLUMNS)


def paired_table(repeated: Repeated) -> pd.DataFrame:
    """Every paired difference: PAIRED_COLUMNS."""
    return _table(repeated.paired_rows(), PAIRED_COLUMNS)


def every_run(repeated: Repeated) -> pd.DataFrame:
    """The site's figures of every run: policy, replicate from 0, and a column for each figure's key."""
    parts = []
    for policy in repeated.figures.policies:
        columns = {key: repeated.values(policy, key) for key in repeated.figures.keys}
        known = {key: values for key, values in columns.items() if (values == values).any()}
        part = pd.DataFrame(known)
        part.insert(0, "replicate", range(repeated.figures.replicates))
        part.insert(0, "policy", policy)
        parts.append(part)
    return pd.concat(parts, ignore_index=True)


def _table(rows: Iterable[Any], columns: Sequence[str]) -> pd.DataFrame:
    """Objects, not floats: a count stays a whole number beside figures that are none."""
    return pd.DataFrame(list(rows), columns=list(columns), dtype=object)


def as_csv(table: pd.DataFrame) -> str:
    """CSV text: comma, LF, full precision, an empty cell for a missing value."""
    return table.to_csv(index=False, lineterminator="\n")
