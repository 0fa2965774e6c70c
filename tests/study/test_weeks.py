"""The run week by week adds up to the whole run, and the worst week is the worst."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Case
from sim.plant.simulate import simulate
from sim.study.weeks import WEEK, Week, weeks, worst_week

ROOT = Path(__file__).parent.parent.parent


@pytest.fixture(scope="module")
def case() -> Case:
    return load_case(ROOT / "cases" / "reference.toml")


@pytest.mark.parametrize("policy", ["calendar", "pressure drop"])
def test_weeks_add_up_to_the_run(case: Case, policy: str) -> None:
    found = weeks(case, policy)
    site = simulate(case, policy).site
    assert [week.number for week in found] == list(range(1, 10))  # 60 days are eight weeks and four days
    assert [week.start_s for week in found[1:]] == [week.end_s for week in found[:-1]]
    assert (found[0].start_s, found[-1].end_s) == (0.0, 60 * 86_400.0)
    assert sum(week.washes for week in found) == site["washes"]
    assert sum(week.over_limit_h or 0.0 for week in found) == pytest.approx(site["over_limit_h"], rel=1e-9)
    assert sum(week.drain_m3 for week in found) == pytest.approx(site["drain_m3"], rel=1e-9)
    assert sum(week.treated_m3 for week in found) == pytest.approx(site["treated_m3"], rel=1e-9)


def week(
    number: int, over: float | None, washes: int, policy: str = "a", treated: float = 9.0, stages: float = 0.0
) -> Week:
    return Week(policy, number, (number - 1) * WEEK, number * WEEK, over, washes, 1.0, treated, stages)


def test_the_worst_week_has_the_most_time_over_the_limit() -> None:
    found = [week(1, 2.0, 9), week(2, 3.0, 1), week(1, 3.0, 2, "b")]
    assert worst_week(found) == (found[1], True)


@pytest.mark.parametrize("over", [0.0, None])
def test_or_else_the_most_washes(over: float | None) -> None:
    found = [week(1, over, 2), week(2, over, 4), week(3, over, 4)]
    assert worst_week(found) == (found[1], False)
    busy = [*found, week(24, over, 4, treated=20.0), week(25, over, 3, treated=30.0)]
    assert worst_week(busy) == (busy[3], False)
    inner = [*busy, week(30, over, 1, stages=2.0)]
    assert worst_week(inner) == (inner[-1], False)
