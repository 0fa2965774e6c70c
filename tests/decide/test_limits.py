"""Exact: what a limit allows, by how much it is exceeded and in how many runs, by hand on made-up figures."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sim.study.decide.ends import TODAY, Ends, Trial
from sim.study.decide.limits import Limit, standing_limits
from sim.study.decide.margins import least_margin
from sim.study.decide.trials import Candidate, Tried
from tests.plant.builders import FILTER, VOLUME, make_case, policy

CANDIDATE = Candidate(name="made", policy=policy("own", VOLUME))
HOURS = Limit("over_limit_h", 10.0)
AS_TODAY = Limit("over_limit_h", None)


def tried(*hours: float, key: str = "over_limit_h") -> Tried:
    """A figure in each run."""
    return Tried(candidate=CANDIDATE, figures={key: np.array(hours)}, over=None)


def test_the_excess_is_a_share_of_what_is_allowed() -> None:
    """15 h in the mean are 5 h over 10; today's mean of 15 h allows 16.5 where the weather is random."""
    assert HOURS.excess(tried(12.0, 18.0), tried(0.0, 0.0)) == pytest.approx(0.5)
    assert HOURS.excess(tried(4.0, 16.0), tried(0.0, 0.0)) == 0.0
    today = tried(10.0, 20.0)
    assert AS_TODAY.excess(tried(16.0, 17.0), today) == 0.0
    assert AS_TODAY.excess(tried(16.0, 20.0), today) == pytest.approx(1.5 / 16.5)
    assert AS_TODAY.excess(tried(16.0), tried(15.0)) == pytest.approx(1.0 / 15.0), "one run is held to today's own"


def test_each_run_is_held_against_the_limit_or_against_today_in_it() -> None:
    """A tenth of today's mean of 15 h are 1.5 h more than today in each run: 0.5 h are within, 5 h are not."""
    assert HOURS.share_kept(tried(9.0, 10.0, 11.0, 50.0), tried(0.0)) == 0.5
    assert AS_TODAY.share_kept(tried(10.5, 25.0), tried(10.0, 20.0)) == 0.5
    assert AS_TODAY.share_kept(tried(5.0, 21.0), tried(10.0, 20.0)) == 1.0


def test_runs_are_sure_where_the_end_of_their_interval_keeps_it() -> None:
    """Of three runs 1 h apart t = 4.303: the mean 9 h has an interval of 2.48 h to either side."""
    assert not HOURS.kept_surely(tried(8.0, 9.0, 10.0), tried(0.0, 0.0, 0.0))
    assert HOURS.kept_surely(tried(6.0, 7.0, 8.0), tried(0.0, 0.0, 0.0))
    assert AS_TODAY.kept_surely(tried(10.5, 20.9), tried(10.0, 20.0)) is False
    assert AS_TODAY.kept_surely(tried(10.5, 20.5), tried(10.0, 20.0))  # half an hour more in each, 1.5 h allowed


def test_rounding_in_the_last_digits_exceeds_nothing() -> None:
    """1000 hours and half a millionth of an hour: less than a billionth of the limit."""
    limit, nearly = Limit("over_limit_h", 1000.0), tried(*(1000.0 + 5e-7,) * 3)
    none = tried(0.0, 0.0, 0.0)
    assert limit.excess(nearly, none) == 0.0
    assert limit.kept_surely(nearly, none)
    assert limit.share_kept(nearly, none) == 1.0
    assert limit.excess(tried(*(1000.0 + 2e-6,) * 3), none) > 0.0


@pytest.mark.parametrize(("rating", "named"), [(None, False), (3.9e5, True), (4e5, False), (6e5, False)])
def test_a_rating_binds_where_the_supply_gives_more(rating: float | None, named: bool) -> None:
    """A supply of which nothing is told gives 4 bar (common practice, from memory)."""
    stage = replace(FILTER, vessel=replace(FILTER.vessel, pressure_rating=rating))
    found = {each.key: each for each in standing_limits(make_case(stages=(stage,)))}
    assert found["supply_kpa"].most == 400.0
    assert ("rating_kpa" in found) is named
    always = {"supply_kpa", "unmet_m3", "below_clean_kpa", "idle", "off_line"}
    assert found.keys() - {"rating_kpa"} == always | {"raw_min"}  # a case that states no use may be drunk


def test_the_next_best_way_leads_by_what_it_has_more() -> None:
    """The chosen way has 100 m3 to drain, others 120 and 150: 120 - 99 = 21; where one has 98 it turns, by 1 m3."""

    def by(*volumes: float) -> dict[str, Tried]:
        names = ("chosen", "next", "last", TODAY)
        return {name: tried(volume, key="water") for name, volume in zip(names, volumes, strict=True)}

    trial = Trial(keys=("stage.a.tanks",), end="low", tried=by(100.0, 150.0, 98.0, 90.0))
    ends = Ends(assumed=1, constants=1, typical=by(100.0, 120.0, 150.0, 90.0), trials=(trial,), refused=())
    advice: Any = SimpleNamespace(chosen=SimpleNamespace(policy="chosen"), least="water")
    found = least_margin(advice, ends)
    assert found is not None
    assert (found.typical, found.low) == pytest.approx((21.0, -1.0))
    assert found.turns == ((trial, pytest.approx(-1.0)),)
    alone = Ends(assumed=0, constants=0, typical={"chosen": tried(1.0), TODAY: tried(2.0)}, trials=(), refused=())
    assert least_margin(advice, alone) is None, "there is no other way"
