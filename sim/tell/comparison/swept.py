"""What is shown of a sweep: tables of text, pictures, the long table of a CSV file, what changes nothing."""

from collections.abc import Sequence
from difflib import get_close_matches

import pandas as pd

from plots.inputs import Axis, Measure, Swept
from sim.case.quantities import System
from sim.plant.records import RunResult
from sim.study.errors import RequestError
from sim.study.frames import KPI_COLUMNS, kpi_table
from sim.study.ranking import keeping
from sim.study.single import place_of
from sim.study.sweep import Point, Sweep, settings_words
from sim.study.vary import MINUTES, Setting, key_words, on_a_scale, plain, told
from sim.tell.comparison.answer import LIMIT, SIDE_BY_SIDE, WITHOUT_LIMIT, spoken
from sim.tell.comparison.spread_words import kept_words
from sim.tell.kpis import CARD, KPIS, LEDGER, Kpi
from sim.tell.listing import Column, Listing
from sim.tell.present import UNITS, Row, converted, row

MORE = "More: --all shows every figure, and what is assumed."
SHOWABLE: dict[str, Kpi] = {kpi.key: kpi for kpi in LEDGER} | KPIS
MEAN_RUN, DIRTY = "mean_run_h", "dirty_return_kg"


def chosen_figures(sweep: Sweep, asked: Sequence[str]) -> tuple[Kpi, ...]:
    """The figures asked for; without any those that stand first, the mean run, and of steps what they send on."""
    keys = tuple(dict.fromkeys(asked))
    if not keys:
        limited = any(each.site[LIMIT] is not None for each in _results(sweep))
        keys = (*(SIDE_BY_SIDE if limited else WITHOUT_LIMIT), MEAN_RUN)
        if any(key.endswith(f".{MINUTES}") for key in sweep.keys):  # what a rinse is for
            keys = (*keys, DIRTY)
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
    """For each key its words and unit, and its value at each point."""
    axes = {key: _axis(sweep, key) for key in sweep.keys}
    places = [[sweep.values[key].index(point.settings[key]) for point in sweep.points] for key in sweep.keys]
    pairs = zip(axes.values(), places, strict=True)
    return tuple((_with_unit(axis.name, axis.unit), tuple(axis.ticks[place] for place in own)) for axis, own in pairs)


def figure_words(sweep: Sweep, fact: Row) -> str:
    """What a figure is called where it stands alone, and its unit."""
    return _with_unit(spoken(fact.kpi, sweep.case), fact.unit)


def _with_unit(words: str, unit: str) -> str:
    return f"{words}, {unit}" if unit else words


def first_figures(asked: Sequence[str]) -> tuple[Kpi, ...]:
    """The figures of the first screen: those asked for, else water to drain, downtime and breakthrough risk."""
    return tuple(SHOWABLE[key] for key in dict.fromkeys(asked or CARD))


def figure_listing(sweep: Sweep, kpis: Sequence[Kpi], system: System) -> Listing:
    """These figures of every run, a way to start a wash after the other, so that each shows what its settings do."""
    columns, facts = value_columns(sweep), [figure_row(sweep, kpi, system) for kpi in kpis]
    count = len(sweep.policies)
    rows = [
        (name if not point else "", *(texts[point] for _, texts in columns),
         *(fact.texts[point * count + place] for fact in facts))
        for place, name in enumerate(sweep.policies)
        for point in range(len(sweep.points))
    ]  # fmt: skip
    heads = [Column("what starts a wash", "long words"), *(Column(name, "words") for name, _ in columns)]
    heads += [Column(figure_words(sweep, fact), "numbers") for fact in facts]
    return Listing(columns=tuple(heads), rows=tuple(rows))


def answer_words(sweep: Sweep, system: System) -> tuple[str, ...]:
    """From where to where water to drain goes, and who has the least of those that keep the limit."""
    runs = [(point, each) for point in sweep.points for each in point.results]
    texts = figure_row(sweep, KPIS[CARD[0]], system).texts
    unit, judged = UNITS[system]["volume"].symbol, sweep.case.judged
    at = [f"{texts[place]} {unit} with “{each.policy}” at {settings_words(_short(sweep, point))}"
          for place, (point, each) in enumerate(runs)]  # fmt: skip
    drained = [float(each.site[CARD[0]] or 0.0) for _, each in runs]
    if min(drained) == max(drained):
        return (f"Water to drain is the same in every run: {texts[0]} {unit}.",)
    least, most = (drained.index(choose(drained)) for choose in (min, max))
    told = [f"Water to drain goes from {at[least]} to {at[most]}."]
    if judged.limit is None:
        return tuple(told)
    kept = [place for place, (_, each) in enumerate(runs) if keeping(sweep.case, {each.policy: each.site})]
    if not kept:
        return (*told, f"No run keeps the limit, {kept_words(sweep.case, system)}.")
    best = min(kept, key=drained.__getitem__)
    held = f"{len(kept)} of {len(runs)} runs keep the limit, {kept_words(sweep.case, system)}"
    return (*told, f"{held}; the least to drain of these is {at[best]}.")


def _short(sweep: Sweep, point: Point) -> dict[str, Setting]:
    """The settings of a point under short names."""
    return {words: point.settings[key] for (words, _), key in zip(key_words(sweep.keys), sweep.keys, strict=True)}


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
    words, unit = key_words(sweep.keys)[sweep.keys.index(key)]
    scale = on_a_scale(values)
    return Axis(
        name=words,
        unit=unit if scale is None else scale[1] or unit,
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
        measure=Measure(spoken(fact.kpi, sweep.case), fact.unit),
        axes=axes,
        policies=sweep.policies,
        places=tuple(place_of(sweep.case, policy) for policy in sweep.policies),
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
