"""Measures of a series against pandas and scipy, and by hand where there are gaps."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from sim.weather.measures import SPELL, autocorrelation, share_above, spells_a_year

GAP = np.nan


def test_autocorrelation_is_that_of_pandas_with_and_without_gaps() -> None:
    values = np.cumsum(np.random.default_rng(3).standard_normal(4000)) * 0.02 + np.random.default_rng(4).random(4000)
    holes = np.where(np.random.default_rng(5).random(4000) < 0.2, GAP, values)
    for lag in (1, 24):
        assert autocorrelation(values, (lag,))[0] == pytest.approx(pd.Series(values).autocorr(lag))
        assert autocorrelation(holes, (lag,))[0] == pytest.approx(pd.Series(holes).autocorr(lag))


def test_pairs_across_a_gap_are_left_out() -> None:
    """0 1 . 2 5 4: pairs at lag 1 are (0, 1), (2, 5), (5, 4); deviations -7/3, -1/3, 8/3 and -7/3, 5/3, 2/3."""
    values = np.array([0.0, 1.0, GAP, 2.0, 5.0, 4.0])
    expected = (49 - 5 + 16) / np.sqrt((49 + 1 + 64) * (49 + 25 + 4))
    assert autocorrelation(values, (1,)) == pytest.approx([expected])


def test_a_lag_without_pairs_that_vary_has_no_autocorrelation() -> None:
    assert np.isnan(autocorrelation(np.array([1.0, GAP, 2.0]), (1, 2, 5))).all()
    assert np.isnan(autocorrelation(np.full(9, 3.0), (1,))).all()


def test_the_share_above_is_that_of_scipy() -> None:
    values = np.random.default_rng(5).lognormal(size=500)
    levels = np.array([0.1, 1.0, values[7], 5.0])
    expected = stats.ecdf(values).sf.evaluate(levels)
    assert share_above(np.concatenate((values, [GAP])), levels) == pytest.approx(expected)


def test_a_spell_is_measured_by_the_median_of_the_water() -> None:
    """At a median of 2."""
    hourly = np.full(8766, 2.0)
    hourly[[100, 200]] = 1.9 * SPELL, 2.1 * SPELL
    assert spells_a_year(hourly) == pytest.approx(1.0)


def test_spells_are_counted_by_the_day_between_them() -> None:
    hourly = np.ones(8766)
    hourly[[100, 110, 300, 301, 330, 5000]] = 6.0  # 100 and 110 are one; 330 is 29 h after 301
    assert spells_a_year(hourly) == pytest.approx(4.0)
    hourly[200:250] = GAP
    assert spells_a_year(hourly) == pytest.approx(4.0 * 8766 / 8716)
