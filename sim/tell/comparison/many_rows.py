"""Many runs in display units: rows of means with intervals, marks only where the intervals support them."""

from collections.abc import Sequence

import numpy as np

from plots.words import Label, Number, label, number, span, term
from sim.case.quantities import QUANTITIES, System
from sim.study.many.arrays import SITE
from sim.study.many.intervals import Interval
from sim.study.many.leading import leaders
from sim.study.many.repeat import Repeated
from sim.tell.comparison.leading import LIMIT, leading
from sim.tell.kpis import GROUPS, KPIS, RISK, Kpi
from sim.tell.listing import Column, Listing
from sim.tell.present import (
    ABSENT,
    UNITS,
    Row,
    applying,
    column,
    in_currency,
    is_shown,
    with_unit,
    written,
)

QUANTILES = (0.0, 0.25, 0.5, 0.75, 1.0)

HIGHEST, UNMET = "peak_dp_kpa", "unmet_m3"


def rows(repeated: Repeated, system: System, place: str = SITE) -> tuple[tuple[Row, ...], ...]:
    """The rows of the comparison in groups, for the site or for one stage; only those that apply to a policy."""
    means = [repeated.means(policy, place) for policy in repeated.figures.policies]
    groups = [[kpi for kpi in _with_risk(group, place) if kpi is RISK or is_shown(kpi, means)] for group in GROUPS]
    found = [[row(repeated, kpi, system, place) for kpi in group] for group in groups]
    return in_currency(applying(found), repeated.case)


def _with_risk(group: Sequence[Kpi], place: str) -> list[Kpi]:
    found = list(group)
    if place == SITE and KPIS["over_limit_unavoidable_h"] in found:
        found.insert(found.index(KPIS["over_limit_unavoidable_h"]) + 1, RISK)
    return found


def row(repeated: Repeated, kpi: Kpi, system: System, place: str = SITE) -> Row:
    """One figure of every policy: its mean with half of its interval, the risk with the whole of it."""
    unit = UNITS[system][kpi.quantity]
    intervals = [repeated.mean(policy, kpi.key, place) for policy in repeated.figures.policies]
    texts = _shares(intervals) if kpi is RISK else _means(intervals, unit.per_result_unit, kpi)
    best = frozenset[int]() if kpi.better is None or place != SITE else marked(repeated, kpi)
    words = term("spoken", "mean_peak_dp_kpa") if kpi.key == HIGHEST else kpi.words
    label = with_unit(words, unit.symbol)
    return Row(kpi=kpi, label=label, unit=unit.symbol, texts=texts, best=best, worst=frozenset())


def _means(intervals: Sequence[Interval | None], factor: float, kpi: Kpi) -> tuple[Number, ...]:
    means = [None if each is None else each.mean * factor for each in intervals]
    halves = [None if each is None or each.half is None else each.half * factor for each in intervals]
    texts = written([*means, *halves], QUANTITIES[kpi.quantity].most_decimals)
    pairs = zip(texts[: len(means)], texts[len(means) :], strict=True)
    # A half that is none, or less than the last decimal, is not told.
    return tuple(mean if half in ("0", ABSENT) or "<" in half else Number(f"{mean} ±{half}") for mean, half in pairs)


def _shares(intervals: Sequence[Interval | None]) -> tuple[Number, ...]:
    return tuple(ABSENT if each is None else share(each) for each in intervals)


def share(interval: Interval) -> Number:
    """A share in percent with its interval, which ends at none and at all.

    >>> share(Interval(0.125, 0.0831, 0.204))
    '12 (8.3 to 20)'
    >>> share(Interval(0.03, -0.01, 0.07))
    '3.0 (0 to 7.0)'
    """
    mean, low, high = (_percent(min(max(end or 0.0, 0.0), 1.0)) for end in interval)
    return Number(f"{mean} ({span(low, high)})")


def _percent(part: float) -> Number:
    """To a tenth below ten, where a tenth still counts."""
    return number(100.0 * part, 1 if 0.0 < part < 0.0995 else 0)


def marked(repeated: Repeated, kpi: Kpi) -> frozenset[int]:
    """The places of the leaders; none where all are."""
    names = repeated.figures.policies
    first = leaders(repeated, kpi.key, kpi.better)
    known = [name for name in names if repeated.mean(name, kpi.key) is not None]
    return frozenset() if len(first) == len(known) else frozenset(names.index(name) for name in first)


def headline(repeated: Repeated) -> tuple[Kpi, ...]:
    """The figures that stand first, demand not met where there is any."""
    policies = repeated.figures.policies
    limited = any(repeated.mean(policy, LIMIT) is not None for policy in policies)
    unmet = [repeated.mean(policy, UNMET) for policy in policies]
    keys = (*leading(limited=limited), *([UNMET] if any(each and each.mean for each in unmet) else []))
    return tuple(KPIS[key] for key in keys)


def spread_listing(repeated: Repeated, kpis: Sequence[Kpi], system: System) -> Listing:
    """The least, the middle half and the most of the runs of every policy, figure by figure."""
    heads = [Column(label("compare.figure"), "words"), Column(label("compare.way"), "long words")]
    heads += [Column(each, "numbers") for each in quantile_heads()]
    lines = []
    for kpi in kpis:
        unit = UNITS[system][kpi.quantity].symbol
        for name in repeated.figures.policies:
            values = repeated.figures.of(name, kpi.key)
            known = values[~np.isnan(values)]
            ends = np.quantile(known, QUANTILES).tolist() if known.size else [None] * len(QUANTILES)
            lines.append((with_unit(kpi.words, unit), name, *column(ends, kpi.quantity, system)))
    return Listing(columns=tuple(heads), rows=tuple(lines))


def quantile_heads() -> tuple[Label, ...]:
    """Of the columns of QUANTILES."""
    return (
        label("quantile.least"), label("quantile.quarter"), label("quantile.half"), label("quantile.three_quarters"),
        label("quantile.most"),
    )  # fmt: skip
