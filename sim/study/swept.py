"""What is shown of a sweep: tables of text, pictures, the long table of a CSV file, what changes nothing."""

from collections.abc import Sequence
from difflib import get_close_matches

import pandas as pd

from plots.inputs import Axis, Measure, Swept
from sim.plant.records import RunResult
from sim.study.answer import LIMIT, SIDE_BY_SIDE, WITHOUT_LIMIT, spoken
from sim.study.errors import RequestError
from sim.study.kpis import KPIS, LEDGER, Kpi, System
from sim.study.present import UNITS, Row, converted, row
from sim.study.sweep import Sweep
from sim.study.tables import KPI_COLUMNS, kpi_table
from sim.study.vary import on_a_scale, plain, short_names, told

SHOWABLE: dict[str, Kpi] = {kpi.key: kpi for kpi in LEDGER} | KPIS
MEAN_RUN = "mean_run_h"


def chosen_figures(sweep: Sweep, asked: Sequence[str]) -> tuple[Kpi, ...]:
    """The figures asked for; without any, those that a comparison puts first, and the mean run."""
    keys = tuple(dict.fromkeys(asked))
    if not keys:
        limited = any(each.site[LIMIT] is not None for each in _results(sweep))
        keys = (*(SIDE_BY_SIDE if limited else WITHOUT_LIMIT), MEAN_RUN)
    return tuple(SHOWABLE[key] for key in keys)


def require_figures(asked: Sequence[str]) -> None:
    """RequestError for a figure that the results do not have."""
    for key in asked:
        if key not in SHOWABLE:
            near = get_close_matches(key.lower(), SHOWABLE, n=1, cutoff=0.5)
            offer = f' did you mean "{near[0]}"?' if near else ""
            raise RequestError(f'there is no figure "{key}";{offer} There are: {", ".join(SHOWABLE)}')


def figure_row(sweep: Sweep, kpi: Kpi, system: System) -> Row:
    """One figure of every run, point by point and policy by policy, all with the same decimals."""
    return row(kpi, [each.site for each in _results(sweep)], system)


def _results(sweep: Sweep) -> list[RunResult]:
    return [each for point in sweep.points for each in point.results]


def value_columns(sweep: Sweep) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """For each key its short name, and its value at each point in words."""
    names = short_names(sweep.keys)
    return tuple(
        (name, tuple(told(point.settings[key]) for point in sweep.points))
        for name, key in zip(names, sweep.keys, strict=True)
    )


def idle_words(sweep: Sweep) -> tuple[str, ...]:
    """A sentence for each key that changes nothing."""
    which = "these" if len(sweep.policies) > 1 else "this"
    ways = "ways" if len(sweep.policies) > 1 else "way"
    return tuple(f"{key} changes no figure with {which} {ways} to start a wash." for key in sweep.idle)


def swept_pictures(sweep: Sweep, kpis: Sequence[Kpi], system: System) -> tuple[Swept, ...]:
    """A picture for each of these figures."""
    axes = tuple(_axis(sweep, key) for key in sweep.keys)
    return tuple(_picture(sweep, kpi, axes, system) for kpi in kpis)


def _axis(sweep: Sweep, key: str) -> Axis:
    values = sweep.values[key]
    scale = on_a_scale(values)
    return Axis(
        name=key,
        unit="" if scale is None else scale[1],
        texts=tuple(told(value) for value in values),
        numbers=None if scale is None else scale[0],
    )


def _picture(sweep: Sweep, kpi: Kpi, axes: tuple[Axis, ...], system: System) -> Swept:
    fact = figure_row(sweep, kpi, system)
    unit = UNITS[system][kpi.quantity]
    results = _results(sweep)
    values = [converted(each.site[kpi.key], unit) for each in results]
    table = pd.DataFrame(
        {
            "policy": [each.policy for each in results],
            "value": [float("nan") if value is None else value for value in values],
            "text": fact.texts,
        }
    )
    return Swept(
        name=f"sweep_{kpi.key}",
        measure=Measure(spoken(fact), fact.unit),
        axes=axes,
        policies=sweep.policies,
        table=table,
    )


def sweep_table(sweep: Sweep) -> pd.DataFrame:
    """Every figure of every run: a column for each key that is varied, then those of `kpis.csv`."""
    parts = []
    for point in sweep.points:
        part = kpi_table(point.results)
        for place, key in enumerate(sweep.keys):
            part.insert(place, key, plain(point.settings[key]))
        parts.append(part)
    return pd.concat(parts, ignore_index=True)[[*sweep.keys, *KPI_COLUMNS]]
