"""What is shown of a sweep: tables of text, pictures, the long table of a CSV file, what changes nothing."""

from collections.abc import Sequence
from difflib import get_close_matches

import pandas as pd

from plots.inputs import Axis, Measure, Swept
from plots.words import Code, Label, Name, Sentence, amount, count, items, label, paragraph, say, span
from sim.case.quantities import System
from sim.plant.records import RunResult
from sim.study.errors import RequestError
from sim.study.frames import KPI_COLUMNS, kpi_table
from sim.study.ranking import keeping
from sim.study.single import place_of
from sim.study.sweep import Point, Sweep, settings_words
from sim.study.vary import MINUTES, Setting, key_words, on_a_scale, plain, told
from sim.tell.comparison.leading import LIMIT, leading, named, spoken
from sim.tell.comparison.spread_words import limit_words
from sim.tell.kpis import CARD, KPIS, LEDGER, Kpi
from sim.tell.listing import Column, Listing
from sim.tell.present import UNITS, Row, converted, is_shown, row, with_unit
from sim.tell.sentences import quoted

SHOWABLE: dict[str, Kpi] = {kpi.key: kpi for kpi in LEDGER} | KPIS
MEAN_RUN, DIRTY = "mean_run_h", "dirty_water_kg"
TELLING = (*CARD, LIMIT, "unmet_m3", DIRTY, "solids_to_service_kg", "peak_dp_kpa", "washes")
"""What a first screen has of the figures that differ, and what a setting is best by."""
ACROSS = 4  # figures of a first screen


def chosen_figures(sweep: Sweep, asked: Sequence[str]) -> tuple[Kpi, ...]:
    """The figures asked for; without any those that stand first, the mean run, and of steps what they send on."""
    keys = tuple(dict.fromkeys(asked))
    if not keys:
        limited = any(each.site[LIMIT] is not None for each in _results(sweep))
        keys = (*leading(limited=limited), MEAN_RUN)
        if any(key.endswith(f".{MINUTES}") for key in sweep.keys):  # what a rinse is for
            keys = (*keys, DIRTY)
    return tuple(SHOWABLE[key] for key in keys)


def require_figures(asked: Sequence[str]) -> None:
    """RequestError for a figure that the results do not have."""
    for key in asked:
        if key not in SHOWABLE:
            near = get_close_matches(key.lower(), SHOWABLE, n=1, cutoff=0.5)
            raise RequestError(
                f'there is no figure "{key}";' + (f' did you mean "{near[0]}"?' if near else "")
                + f" There are: {', '.join(SHOWABLE)}"
            )  # fmt: skip


def figure_row(sweep: Sweep, kpi: Kpi, system: System) -> Row:
    """One figure of every run, point by point and policy by policy, all with the same decimals."""
    return row(kpi, [each.site for each in _results(sweep)], system)


def _results(sweep: Sweep) -> list[RunResult]:
    return [each for point in sweep.points for each in point.results]


def value_columns(sweep: Sweep) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """For each key its words and unit, and its value at each point."""
    found = []
    for key in sweep.keys:
        axis = _axis(sweep, key)
        head = label("column.with_unit", figure=Code(axis.name), unit=Code(axis.unit)) if axis.unit else axis.name
        places = [sweep.values[key].index(point.settings[key]) for point in sweep.points]
        found.append((head, tuple(axis.ticks[place] for place in places)))
    return tuple(found)


def first_figures(sweep: Sweep, asked: Sequence[str]) -> tuple[Kpi, ...]:
    """The figures of the first screen: those asked for, else the most telling that differ, else the card's."""
    keys = asked or [key for key in TELLING if _differs(sweep, key)][:ACROSS] or CARD
    return tuple(SHOWABLE[key] for key in dict.fromkeys(keys))


def every_figure(sweep: Sweep, asked: Sequence[str]) -> tuple[Kpi, ...]:
    """All figures that apply, or those asked for."""
    figures = [each.site for each in _results(sweep)]
    return tuple(SHOWABLE[key] for key in dict.fromkeys(asked or KPIS) if asked or is_shown(KPIS[key], figures))


def _differs(sweep: Sweep, key: str) -> bool:
    """Whether a figure is not the same at all settings of some way."""
    return any(_differs_of(_at_all(sweep, way), key) for way in sweep.policies)


def _changed(sweep: Sweep, way: str) -> bool:
    """Whether any figure of a way is another at some point."""
    first, *others = [each.site for each in _at_all(sweep, way)]
    return any(each != first for each in others)


def _differs_of(results: Sequence[RunResult], key: str) -> bool:
    return len({_figure(each, key) for each in results}) > 1


def _at_all(sweep: Sweep, way: str) -> list[RunResult]:
    """One way at every point."""
    return [point.results[sweep.policies.index(way)] for point in sweep.points]


def _figure(result: RunResult, key: str) -> float:
    return float(result.site[key] or 0.0)


def figure_listing(sweep: Sweep, kpis: Sequence[Kpi], system: System) -> Listing:
    """These figures of every run, a way to start a wash after the other; one row of a way that no setting changes."""
    columns, facts = value_columns(sweep), [figure_row(sweep, kpi, system) for kpi in kpis]
    count = len(sweep.policies)
    rows = []
    for place, name in enumerate(sweep.policies):
        points = len(sweep.points) if _changed(sweep, name) or len(sweep.points) == 1 else 0
        for point in range(points or 1):
            settings = [texts[point] if points else label("sweep.any") for _, texts in columns]
            figures = [fact.texts[point * count + place] for fact in facts]
            rows.append((name if not point else "", *settings, *figures))
    heads = [Column(label("compare.way"), "long words"), *(Column(name, "words") for name, _ in columns)]
    heads += [Column(with_unit(named(fact.kpi.key), fact.unit), "numbers") for fact in facts]
    return Listing(columns=tuple(heads), rows=tuple(rows))


def size_words(sweep: Sweep) -> Label:
    """How many settings and runs there are."""
    settings, runs = len(sweep.points), len(sweep.points) * len(sweep.policies)
    return label("sweep.size", settings=count(settings), runs=count(runs))


def varied_words(sweep: Sweep) -> Label:
    """Which keys are varied."""
    return label("sweep.varied", keys=items(sweep.keys))


def more_words(left: int) -> Sentence:
    """How to have the rest, and how many runs are `left` out of the table."""
    more = say("sweep.more")
    return paragraph(say("sweep.left_out", runs=count(left)), more) if left else more


def answer_words(sweep: Sweep, system: System) -> tuple[Sentence, ...]:
    """At which of its settings each way is best, and which figures of the card no setting changes."""
    told = [_best_words(sweep, way, system) for way in sweep.policies if _changed(sweep, way)]
    unchanged = [way for way in sweep.policies if not _changed(sweep, way)]
    if told and unchanged:
        told.append(say("sweep.ways_unchanged", ways=quoted(unchanged)))
    same = [named(key) for key in CARD if not _differs(sweep, key)]
    if same and len(sweep.points) > 1:
        told.append(say("sweep.figures_unchanged", figures=items(same)))
    if sweep.case.judged.limit is not None:
        told.append(limit_words(sweep.case, system))
    return tuple(told)


def _best_words(sweep: Sweep, way: str, system: System) -> Sentence:
    """The best setting of a way: of those that keep the limit the least to drain, else the least over the limit."""
    results, name = _at_all(sweep, way), Name(way)
    kept = [place for place, each in enumerate(results) if keeping(sweep.case, {way: each.site})]
    keys = [key for key in (TELLING if kept else (LIMIT, *TELLING)) if KPIS[key].better and _differs_of(results, key)]
    if not keys:
        return say("sweep.no_difference", way=name)

    def rank(place: int) -> list[float]:
        return [_figure(results[place], key) for key in keys]

    best = min(kept or range(len(results)), key=rank)
    fact = row(KPIS[keys[0]], [each.site for each in results], system)
    figures = [_figure(each, keys[0]) for each in results]
    least, most = (fact.texts[figures.index(choose(figures))] for choose in (min, max))
    figure, reached, over = named(fact.kpi.key), amount(fact.texts[best], fact.unit), span(least, most)
    at = Code(settings_words(_short(sweep, sweep.points[best])))
    if not kept:
        return say("sweep.best_of_none", way=name, at=at, figure=figure, reached=reached, span=over)
    if len(kept) == len(results):
        return say("sweep.best", way=name, at=at, figure=figure, reached=reached, span=over)
    keep, every = count(len(kept)), count(len(results))
    return say(
        "sweep.best_of_some", way=name, at=at, figure=figure, reached=reached, span=over, kept=keep, every=every
    )  # fmt: skip


def _short(sweep: Sweep, point: Point) -> dict[str, Setting]:
    """The settings of a point under short names."""
    return {words: point.settings[key] for (words, _), key in zip(key_words(sweep.keys), sweep.keys, strict=True)}


def idle_words(sweep: Sweep) -> tuple[Sentence, ...]:
    """A sentence for each key that changes nothing."""
    return tuple(say("sweep.idle", key=Code(key), ways=len(sweep.policies)) for key in sweep.idle)


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
