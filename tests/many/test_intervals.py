"""Intervals: against published values, and as often right as they say."""

import numpy as np
import pytest

from sim.study.many.intervals import Interval, differ, of_mean, of_pair, of_share
from sim.study.many.precision import Precision
from sim.study.many.repeat import RISK_KPI, repeat
from sim.study.many.workers import Crew, Here
from tests.many.made import MEAN, RISK, case_of, noisy, with_every

# R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3 (from memory): events, of, low, high.
NEWCOMBE = ((81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718))
STUDENT = ((2, 12.706), (5, 2.776), (10, 2.262), (30, 2.045), (121, 1.980))  # values, t(0.975): any table of t


@pytest.mark.parametrize(("events", "of", "low", "high"), NEWCOMBE)
def test_wilson_as_published(events: int, of: int, low: float, high: float) -> None:
    assert of_share(events, of)[1:] == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize(("count", "t"), STUDENT)
def test_student_as_tabled(count: int, t: float) -> None:
    values = np.random.default_rng(7).normal(size=count)
    found = of_mean(values)
    assert found is not None
    assert found.half == pytest.approx(t * values.std(ddof=1) / count**0.5, rel=3e-4)


def test_equal_values_have_no_width_and_their_own_mean() -> None:
    for value in (0.1, 1.0 / 49.0, 1e300, 5e-324):
        assert of_mean(np.full(49, value)) == (value, value, value)


def test_what_is_zero_in_every_year_is_known_well_enough() -> None:
    """Any share of a mean of zero is zero: a wish that could never be met would run to the last replicate."""
    wish = Precision("solids_to_drain_kg", 0.05)
    assert wish.met([of_mean(np.zeros(20))])
    assert wish.met([Interval(8.0, 7.75, 8.25)])  # 0.25 of 8 is 0.031
    assert not wish.met([Interval(8.0, 7.5, 8.5)])  # 0.5 of 8 is 0.062
    assert not wish.met([of_mean(np.zeros(1))])


def test_what_does_not_apply_is_left_out() -> None:
    assert of_mean(np.array([np.nan, np.nan])) is None
    assert of_mean(np.array([np.nan, 3.0])) == (3.0, None, None)
    found = of_mean(np.array([1.0, np.nan, 3.0]))
    assert found is not None
    assert (found.mean, found.known) == (2.0, True)
    pair = of_pair("a", "b", "k", np.array([1.0, np.nan, 4.0]), np.array([0.0, 5.0, 2.0]))
    assert pair is not None
    assert pair.difference.mean == 1.5


def test_the_exact_test_of_discordant_years() -> None:
    """Six against none is p = 2 / 64, five against none 2 / 32 (hand)."""
    for only_one, found in ((6, True), (5, False), (0, False)):
        one = np.array([1.0] * only_one + [1.0, 0.0, 1.0])
        assert differ(one, np.array([0.0] * only_one + [1.0, 0.0, 1.0])) is found


def test_intervals_cover_what_they_are_to_cover() -> None:
    """200 studies of 40 years with skew hours and a known risk: 95 % intervals hold the long-run value 90 to 99 %.

    With a true coverage of 0.95 fewer than 180 or more than 198 of 200 come about once in 400 (binomial).
    """
    case = with_every(case_of(("one", "two")), 6.0, "two")
    held = {"mean": 0, "risk": 0, "paired": 0}
    for seed in range(200):
        found = repeat(case, Crew(Here, 1), seed=seed, replicates=40, run=noisy)
        mean, risk = found.mean("one", "over_limit_h"), found.mean("one", RISK_KPI)
        pair = found.pair("two", "one", "over_limit_h")
        assert mean is not None and risk is not None and pair is not None  # noqa: PT018
        for what, interval, truth in (("mean", mean, MEAN), ("risk", risk, RISK), ("paired", pair.difference, 2.0)):
            assert interval.low is not None and interval.high is not None  # noqa: PT018
            held[what] += interval.low <= truth <= interval.high
    assert all(180 <= count <= 198 for count in held.values()), held


def test_common_weather_takes_most_of_the_variance_away() -> None:
    case = with_every(case_of(("one", "two")), 6.0, "two")
    pair = repeat(case, Crew(Here, 1), replicates=100, run=noisy).pair("two", "one", "over_limit_h")
    assert pair is not None
    assert pair.variance is not None
    assert pair.unpaired is not None
    assert pair.variance < 0.01 * pair.unpaired  # 2 sd 0.2 against twice a sd of 25 (how `noisy` is made)
