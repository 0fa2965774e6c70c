"""Random parts against their theory: distributions by scipy.stats, autocorrelations by closed form.

Every test draws from fixed seeds, so it passes or fails for good. A bound of 4 standard errors, or a p-value of 1e-3,
leaves about one in a thousand for chance; none of the seeds was picked.
"""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy import stats

from sim.case.series.records import Storms, Wander
from sim.case.series.series import mean_of
from sim.weather.chance import Streams, Values, _arrivals, storms, wandering
from sim.weather.forcing import changeable
from sim.weather.measures import autocorrelation
from sim.weather.streams import stream
from tests.weather.weathers import DAILY, DAY, FAST, HOUR, ROUGH, SEASON, SLOW, UNSETTLED, YEAR, case_of, forcing_of

LONG = 20 * 8766  # hours
LEAST_P = 1e-3
SHOT = Storms(per_year=60.0, height=4.0, length=30 * HOUR, season=None)


def streams(replicate: int = 0) -> Streams:
    return lambda part: stream(f"test {part}", seed=11, replicate=replicate)


def hours(wander: Wander, count: int = LONG, replicate: int = 0) -> Values:
    return wandering(wander, HOUR, count, streams(replicate)("fast"))


def apart(values: Values, memory: float, step: float = HOUR) -> Values:
    """Values far enough from each other to count as independent."""
    return values[:: math.ceil(8 * memory / step)]


def bartlett(kept: float, lag: int, count: int) -> float:
    """Standard error of the autocorrelation of an AR(1) at a lag (M. S. Bartlett 1946, J. Roy. Stat. Soc. Suppl. 8).

    var r_k = [(1 + a^2)(1 - a^2k) / (1 - a^2) - 2 k a^2k] / n.
    """
    square = kept * kept
    return math.sqrt(((1 + square) * (1 - square**lag) / (1 - square) - 2 * lag * square**lag) / count)


def test_wandering_is_normal_from_its_first_step() -> None:
    wander = Wander(spread=0.7, memory=5 * HOUR)
    assert stats.kstest(apart(hours(wander), wander.memory), "norm", args=(0.0, 0.7)).pvalue > LEAST_P
    first = np.array([hours(wander, 3, replicate)[0] for replicate in range(400)])
    assert stats.kstest(first, "norm", args=(0.0, 0.7)).pvalue > LEAST_P


@pytest.mark.parametrize("memory", [1.0, 6.0, 48.0])
@pytest.mark.parametrize("lag", [1, 3, 24])
def test_wandering_keeps_what_an_ar1_keeps(memory: float, lag: int) -> None:
    kept = math.exp(-1.0 / memory)
    found = autocorrelation(hours(Wander(spread=0.5, memory=memory * HOUR)), (lag,))[0]
    assert found == pytest.approx(kept**lag, abs=4 * bartlett(kept, lag, LONG) + 8 * memory / LONG)


def test_storms_break_out_as_a_poisson_process() -> None:
    """Counts of years are Poisson, gaps exponential, times within the step even."""
    expected = np.full(200 * 8766, SHOT.per_year / 8766)
    places, late = _arrivals(expected, streams()("storm times"))
    counts = np.bincount(places // 8766, minlength=200)
    chi2 = counts.var() / counts.mean() * 200  # index of dispersion
    assert 1 - LEAST_P > stats.chi2(199).cdf(chi2) > LEAST_P
    assert len(places) == pytest.approx(200 * SHOT.per_year, abs=4 * math.sqrt(200 * SHOT.per_year))
    times = places + 1.0 - late
    assert stats.kstest(np.diff(times), "expon", args=(0.0, 8766 / SHOT.per_year)).pvalue > LEAST_P
    assert stats.kstest(late, "uniform").pvalue > LEAST_P


def test_storms_follow_their_season() -> None:
    """Under a yearly rate the counts of the quarters have its integral over each, by a chi-square test."""
    years, swing = 400, 0.8
    phase = 2.0 * np.pi * (np.arange(years * 8766) + 0.5) / 8766
    places, _ = _arrivals(SHOT.per_year * (1.0 + swing * np.cos(phase)) / 8766, streams()("storm times"))
    counts = np.bincount(places % 8766 * 4 // 8766, minlength=4)
    edges = np.arange(5) / 4
    share = [b - a + swing * (math.sin(math.tau * b) - math.sin(math.tau * a)) / math.tau for a, b in pairwise(edges)]
    assert stats.chisquare(counts, np.array(share) * counts.sum()).pvalue > LEAST_P


def test_what_storms_add_is_gamma_shot_noise() -> None:
    """Exponential heights and decay: gamma, shape rate * length, scale height - 1, correlated as e^(-t / length)."""
    count = 200 * 8766
    added = storms(SHOT, np.ones(count), HOUR, streams())
    shape = SHOT.per_year * SHOT.length / YEAR
    assert stats.kstest(apart(added, SHOT.length), "gamma", args=(shape, 0.0, 3.0)).pvalue > LEAST_P
    lags = (1, 24, 72)
    assert autocorrelation(added, lags) == pytest.approx(np.exp(-np.array(lags) * HOUR / SHOT.length), abs=0.03)


@pytest.mark.parametrize("rate", [0.5, 1.0, 2.0])
def test_a_run_begins_amid_the_storms_of_its_season(rate: float) -> None:
    """Gamma from the first step, of mean shape * scale and variance shape * scale^2."""
    shape = rate * SHOT.per_year * SHOT.length / YEAR
    first = [storms(SHOT, np.full(2, rate), HOUR, streams(replicate))[0] for replicate in range(1000)]
    assert np.mean(first) == pytest.approx(shape * 3.0, abs=4 * math.sqrt(shape * 9.0 / 1000))


def test_storms_of_less_than_a_step_have_faded_by_its_end() -> None:
    """The same gamma where a step is as long as two storms: each has its own part of the step to fade in."""
    short = replace(SHOT, per_year=4000.0, length=0.5 * HOUR)
    added = storms(short, np.ones(8766), HOUR, streams())
    shape = short.per_year * short.length / YEAR
    assert stats.kstest(apart(added, short.length), "gamma", args=(shape, 0.0, 3.0)).pvalue > LEAST_P


def test_without_storms_solids_are_lognormal() -> None:
    series = replace(ROUGH, slow=None, season=None, storms=None)
    case = case_of(solids=series, temperature=None, wander=None, days=20 * 365.25)
    values = changeable(series, case.run, LONG, streams())
    thin = apart(values, FAST.memory)
    assert stats.kstest(thin, "lognorm", args=(FAST.spread, 0.0, series.median)).pvalue > LEAST_P


def test_values_are_less_alike_than_logarithms() -> None:
    """Of a lognormal: (e^(s^2 r) - 1) / (e^(s^2) - 1), r being the autocorrelation of the logarithm."""
    series = replace(ROUGH, season=None, storms=None)
    values = changeable(series, case_of(days=1.0).run, 10 * LONG, streams())
    variance = FAST.spread**2 + SLOW.spread**2
    for lag in (1, 24):
        shared = sum(each.spread**2 * math.exp(-lag * HOUR / each.memory) for each in (FAST, SLOW))
        assert autocorrelation(np.log(values), (lag,))[0] == pytest.approx(shared / variance, abs=0.015)
        expected = math.expm1(shared) / math.expm1(variance)
        assert autocorrelation(values, (lag,))[0] == pytest.approx(expected, abs=0.03)


@pytest.mark.parametrize(
    "series",
    [
        ROUGH,
        replace(ROUGH, storms=None),
        replace(ROUGH, storms=replace(SHOT, season=SEASON)),
        replace(ROUGH, storms=replace(SHOT, season=replace(SEASON, peak_day=240))),
    ],
    ids=["plain", "calm", "storms in season", "storms out of season"],
)
def test_the_mean_of_the_case_is_that_of_many_years(series: object) -> None:
    assert isinstance(series, type(ROUGH))
    run = case_of(days=1.0).run
    means = [changeable(series, run, 10 * 8766, streams(replicate)).mean() for replicate in range(40)]
    error = np.std(means) / math.sqrt(len(means))
    assert np.mean(means) == pytest.approx(mean_of(series), abs=4 * error)
    assert error < 0.03 * mean_of(series)


def test_the_demand_of_a_day_is_lognormal_about_the_usual() -> None:
    case = case_of(solids=None, temperature=None, days=40 * 365.25)
    days = forcing_of(case).flow / 1.5e-3
    kept = math.exp(-DAY / DAILY.memory)
    centred = np.log(days) + 0.5 * DAILY.spread**2
    assert stats.kstest(apart(centred, DAILY.memory, DAY), "norm", args=(0.0, DAILY.spread)).pvalue > LEAST_P
    assert autocorrelation(centred, (1,))[0] == pytest.approx(kept, abs=4 * bartlett(kept, 1, len(days)))
    assert days.mean() == pytest.approx(1.0, abs=4 * DAILY.spread * math.sqrt(2 * DAILY.memory / DAY / len(days)))


def test_the_temperature_of_a_day_is_normal_about_the_season() -> None:
    bare = replace(UNSETTLED, usual=replace(UNSETTLED.usual, swing=0.0))
    days = forcing_of(case_of(solids=None, wander=None, temperature=bare, days=40 * 365.25)).temperature - 14.0
    thin = apart(days, UNSETTLED.wander.memory, DAY)
    assert stats.kstest(thin, "norm", args=(0.0, UNSETTLED.wander.spread)).pvalue > LEAST_P


def test_replicates_and_parts_are_independent() -> None:
    """Correlations between replicates, seeds and parts stay within what independent normals show."""
    names = ("feed solids fast", "feed solids slow", "demand days", "feed temperature days")
    rows = [
        stream(name, seed=seed, replicate=replicate).standard_normal(20_000)
        for name in names for seed in (1, 2) for replicate in range(5)
    ]  # fmt: skip
    off = np.corrcoef(rows)[np.triu_indices(len(rows), 1)] * math.sqrt(20_000)
    assert abs(off).max() < stats.norm.isf(LEAST_P / 2 / len(off))
    assert stats.kstest(off, "norm").pvalue > LEAST_P
