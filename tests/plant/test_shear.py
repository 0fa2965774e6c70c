"""What flow and temperature make of a wash: shear by sublayer, balances, and what a weak wash leaves behind."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from sim.case.records import Case
from sim.case.stage.records import Layer, Stage, Step
from sim.case.trigger.records import Calendar
from sim.plant.simulate import Plant, simulate
from tests.plant.builders import BACKWASH, DAY, FILTER, HOUR, PRESSURE, RINSE, SAND, feed, make_case, policy, replace
from tests.plant.shear_by_hand import cleaning_by_hand

AREA = FILTER.vessel.area
SIZES = tuple(0.5e-3 * 1.12**i for i in range(8))
GRADED = replace(SAND, depth=0.6, uniformity=1.6, sublayer_sizes=SIZES, firm_share=0.2)
WASH = replace(BACKWASH, cleaning_rate=None, water="raw")
START = 4 * DAY + 3 * HOUR
DAILY = Calendar(every=DAY, at=3 * HOUR)


def bed(step: Step = WASH, layer: Layer = GRADED) -> Stage:
    """A graded bed of sand, 24 cells, washed by one backwash and rinsed."""
    return replace(FILTER, layers=(layer,), steps=(step, RINSE), cells_per_layer=24)


def case_of(stage: Stage, *, temperature: float = 15.0, **given: object) -> Case:
    """The bed under a daily calendar, or what is given."""
    own = {"policies": (policy("own", DAILY, stages=(stage,)),), "feed": feed(5.0, temperature), "days": 30.0}
    return make_case(stages=(stage,), **own | given)


def at_flow(rate: float) -> Step:
    """The backwash at a rate [m/h]."""
    return replace(WASH, flow=rate / HOUR * AREA)


def by_part(values: list[float]) -> list[float]:
    """Sums over the eight sublayers of a bed of 24 cells."""
    return [math.fsum(values[i : i + 3]) for i in range(0, 24, 3)]


@pytest.mark.parametrize("rate", [14.0, 24.0, 37.0])
@pytest.mark.parametrize("temperature", [5.0, 28.0])
def test_pools_and_vessel_water_follow_their_equations(rate: float, temperature: float) -> None:
    """dM/dt = -k f M for loose and firm of each sublayer, dW/dt = sum k f M - (Q/V) W + Q C_w, solved numerically."""
    stage = bed(at_flow(rate))
    plant = Plant(case_of(stage, temperature=temperature), "own")
    plant.run_until(DAY + 3 * HOUR)
    before = plant.look()
    plant.run_until(DAY + 3 * HOUR + WASH.seconds)
    after = plant.look()
    held = np.array(by_part(before.deposits(0))) * AREA
    cleaning = np.array([cleaning_by_hand(rate / HOUR, temperature, size=size, layer=GRADED) for size in SIZES])
    rates = np.concatenate([stage.loose_rate * cleaning, stage.firm_rate * cleaning])
    pools = np.concatenate([0.8 * held, 0.2 * held])
    s = before.vessel[0]
    turnover, brought = stage.steps[0].flow / s.vessel_water, stage.steps[0].flow * 5.0

    def slopes(_t: float, y: np.ndarray) -> np.ndarray:
        return np.append(-rates * y[:-1], np.sum(rates * y[:-1]) - turnover * y[-1] + brought)

    start = np.append(pools, s.vessel_solids)
    solved = solve_ivp(slopes, (0.0, 600.0), start, rtol=1e-12, atol=1e-12, method="DOP853")
    left, suspended = solved.y[:-1, -1], solved.y[-1, -1]
    assert math.fsum(after.deposits(0)) * AREA == pytest.approx(left.sum(), rel=1e-10)
    assert after.vessel[0].vessel_solids == pytest.approx(suspended, rel=1e-10)
    arrived = held.sum() + s.vessel_solids + brought * 600.0
    found = math.fsum(after.deposits(0)) * AREA + after.vessel[0].vessel_solids + after.vessel[0].drain_total
    assert found == pytest.approx(arrived, rel=1e-12)


def test_a_cut_wash_equals_a_whole_one() -> None:
    """Looking at 37 moments of a wash changes nothing."""
    whole, cut = Plant(case_of(bed()), "own"), Plant(case_of(bed()), "own")
    for i in range(37):
        cut.run_until(START + 16.5 * i)
        cut.look()
    for plant in (whole, cut):
        plant.run_until(START + 900.0)
    assert replace(cut.result(), counts={}) == replace(whole.result(), counts={})


def test_what_never_lifts_keeps_its_deposit() -> None:
    """In warm water the coarse sublayers of a weak wash stay packed: they are cleaned at a twentieth of the rate."""
    cleaning = [cleaning_by_hand(20.0 / HOUR, 28.0, size=size, layer=GRADED) for size in SIZES]
    assert cleaning[-1] == 0.05
    assert cleaning[0] > 0.7
    kept = {}
    for rate in (20.0, 50.0):
        result = simulate(case_of(bed(at_flow(rate)), temperature=28.0), "own")
        kept[rate] = result.runs[-1].residual_g_m2
    assert kept[20.0] > 2.0 * kept[50.0]


def test_the_residual_of_each_run_is_what_its_wash_left() -> None:
    plant = Plant(case_of(bed(at_flow(20.0))), "own")
    for number in range(1, 6):
        plant.run_until(number * DAY + 3 * HOUR + WASH.seconds)
        left = math.fsum(plant.look().deposits(0))
        plant.run_until(number * DAY + 6 * HOUR)
        last = plant.result().runs[-1]
        assert last.number == number + 1
        assert last.residual_g_m2 == pytest.approx(left, rel=1e-12)


def test_weak_washes_shorten_the_runs_over_weeks() -> None:
    """To the same pressure drop, each run begins from more of the deposit that earlier washes left."""
    stage = bed(at_flow(18.0))
    trigger = replace(PRESSURE, above=16e3)
    own = (policy("own", trigger, stages=(stage,)),)
    weak = simulate(case_of(stage, temperature=25.0, policies=own, days=90.0), "own")
    runs = [run for run in weak.runs if run.cause is not None]
    residuals = [run.residual_g_m2 for run in runs]
    assert residuals[0] == 0.0
    assert all(more > less for less, more in pairwise(residuals[:6]))
    assert runs[6].volume_m3 < 0.97 * runs[0].volume_m3
    assert runs[6].clean_dp_kpa > runs[1].clean_dp_kpa > runs[0].clean_dp_kpa


def test_an_effective_rate_asks_for_no_shear() -> None:
    """With a given rate the flow decides flushing only, as before the grains were known."""
    given = replace(WASH, cleaning_rate=0.8 / 60.0)
    residuals = []
    for rate in (10.0, 50.0):
        stage = bed(replace(given, flow=rate / HOUR * AREA))
        residuals.append(simulate(case_of(stage), "own").runs[1].residual_g_m2)
    assert residuals[0] == pytest.approx(residuals[1], rel=1e-12)
