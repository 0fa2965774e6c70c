"""The line of water in service against hand arithmetic: capture, head loss, stages in series.

Where a test says "thin", the ultimate deposit is so large that the bed stays as it is: C = C0 exp(-lambda z), and
the deposit grows in proportion to the load.
"""

import math
from typing import Any

import numpy as np
import pytest

from hydraulics.constants import STANDARD_GRAVITY
from hydraulics.headloss import ergun_gradient
from hydraulics.media import sublayer_sizes
from hydraulics.water import density, viscosity
from sim.case.records import Case
from sim.case.stage.records import HeadLoss, Layer, Mat, Stage, Vessel
from sim.case.trigger.records import Pressure, Volume
from sim.plant.build import build_tables
from sim.plant.layout import CHANGING, Tables
from sim.plant.line import Line
from sim.plant.simulate import Plant, simulate
from sim.plant.trace import bed_sections, trace
from tests.cross_checks import (
    breakthrough_time,
    gain_from_mean_deposit,
    run_length_by_breakthrough,
    run_length_by_head_loss,
)
from tests.plant.builders import (
    ANTHRACITE,
    DAY,
    FILTER,
    HOUR,
    SAND,
    feed,
    make_case,
    policy,
    replace,
    steady,
    train,
)
from tests.plant.fakes import wash_starts

NEVER = Volume(volume=1e9, at=None)
AREA = FILTER.vessel.area
RATE = FILTER.reference_rate  # 12 m/h
MU, RHO = viscosity(15.0), density(15.0)
THIN = 1e13  # g/m3


def thin(layer: Layer, **given: Any) -> Layer:
    return replace(layer, **{"ultimate_deposit": THIN, "deposit_density": 10 * THIN, **given})


def one_layer(layer: Layer, **given: Any) -> Stage:
    return replace(FILTER, layers=(layer,), **given)


def serving(stages: tuple[Stage, ...], rate: float = RATE, days: float = 10.0, **given: Any) -> Case:
    """Stages that are never washed, at a steady rate [m/s]."""
    case = {"stages": stages, "demand": steady(rate * AREA), "policies": (policy("never", NEVER, stages=stages),)}
    return make_case(days=days, **{**case, **given})


def look(case: Case, time: float) -> Line:
    """The line of a case as it is at a time [s]."""
    plant = Plant(case, case.policies[0].name)
    plant.run_until(time)
    return plant.look()


def outlet(line: Line, k: int = 0) -> float:
    return line.reading(k)[3]


def signal(line: Line, k: int = 0) -> float:
    return line.reading(k)[1]


# Capture


def test_a_clean_bed_lets_through_what_its_layers_leave() -> None:
    """4/m over 0.45 m, then 10/m over 0.25 m: exp(-4.3)."""
    line = look(serving((FILTER,)), 1e-3)
    assert line.reading(0)[2] == 5.0
    assert outlet(line) == pytest.approx(5.0 * math.exp(-4.3), rel=1e-6)


@pytest.mark.parametrize("exponent", [0.5, 1.0])
@pytest.mark.parametrize("times", [0.25, 4.0])
def test_a_faster_flow_is_filtered_by_a_power_of_its_rate(exponent: float, times: float) -> None:
    stage = one_layer(thin(SAND), velocity_exponent=exponent)
    line = look(serving((stage,), rate=times * RATE), 60.0)
    assert outlet(line) == pytest.approx(5.0 * math.exp(-2.5 * times**-exponent), rel=1e-9)


def test_the_outlet_breaks_through_as_bohart_and_adams_say() -> None:
    """K = lambda v / sigma_u and N0 = sigma_u make their curve ours (formula from memory)."""
    stage = one_layer(replace(SAND, ultimate_deposit=600.0))
    case = serving((stage,), feed=feed(50.0))
    for share in (0.2, 0.5, 0.9):
        time = breakthrough_time(share, 10.0 * RATE / 600.0, 600.0, concentration=50.0, v=RATE, depth=0.25)
        assert 0.0 < time < 10 * DAY
        assert outlet(look(case, time)) == pytest.approx(50.0 * share, rel=1e-9)


@pytest.mark.parametrize(("times", "exponent", "solids"), [(0.1, 1.0, 100.0), (0.05, 2.0, 5.0)])
def test_a_bed_in_a_slow_flow_keeps_its_digits(times: float, exponent: float, solids: float) -> None:
    """lambda grows to 10 and 400 times; what is held is still what came in less what left."""
    stage = replace(FILTER, velocity_exponent=exponent)
    line = look(serving((stage,), rate=times * RATE, days=60.0, feed=feed(solids)), 60 * DAY)
    held = math.fsum(line.deposits(0)) * AREA
    assert held == pytest.approx(line.vessel[0].in_total - line.vessel[0].out_total, rel=1e-9)


def test_what_a_bed_gains_does_not_depend_on_how_the_load_is_cut() -> None:
    """A fast and a slow half hour, and the same load at an even rate: the same deposit in every cell."""
    uneven = serving((FILTER,), demand=replace(make_case().demand), feed=feed(60.0))
    plant = Plant(uneven, "never")
    plant.run_until(5 * DAY)
    treated = plant.look().vessel[0].treated
    even = look(serving((FILTER,), feed=feed(60.0)), treated / (RATE * AREA))
    assert plant.look().deposits(0) == pytest.approx(even.deposits(0), rel=1e-9)


def test_fine_solids_pass_every_bed() -> None:
    """A tenth is fine. What is left of the rest behind two beds of exp(-4.3) is next to nothing."""
    stages = tuple(replace(stage, unfilterable=0.1) for stage in train("first", "second"))
    line = look(serving(stages), 60.0)
    assert outlet(line, 0) == pytest.approx(5.0 * (0.1 + 0.9 * math.exp(-4.3)), rel=1e-4)
    assert line.reading(1)[2] == outlet(line, 0)
    assert outlet(line, 1) == pytest.approx(5.0 * (0.1 + 0.9 * math.exp(-8.6)), rel=1e-4)


def test_a_better_second_stage_takes_part_of_what_the_first_calls_fine() -> None:
    """Fine are 0.3 for the first bed and 0.1 for the second, both of the raw feed."""
    first = one_layer(thin(SAND), name="first", unfilterable=0.3)
    second = replace(first, name="second", unfilterable=0.1)
    line = look(serving((first, second)), 60.0)
    left = math.exp(-2.5)
    assert outlet(line, 0) == pytest.approx(5.0 * (0.3 + 0.7 * left), rel=1e-9)
    assert outlet(line, 1) == pytest.approx(5.0 * (0.1 + (0.2 + 0.7 * left) * left), rel=1e-9)


def test_a_layer_may_catch_differently_in_every_sublayer() -> None:
    """Eight parts of equal depth with their own coefficients: the mean of them over the whole depth."""
    each = (16.0, 14.0, 12.0, 10.0, 9.0, 8.0, 7.0, 4.0)
    sizes = sublayer_sizes(0.5e-3, 1.5, 8)
    stage = one_layer(thin(SAND, filter_coefficients=each, sublayer_sizes=sizes), cells_per_layer=16)
    assert outlet(look(serving((stage,)), 60.0)) == pytest.approx(5.0 * math.exp(-10.0 * 0.25), rel=1e-9)


# Head loss


def clean_ergun(layer: Layer, rate: float) -> float:
    """The published law over the sublayers [Pa]."""
    grains = {"sphericity": layer.sphericity, "porosity": layer.porosity, "viscous": 150.0, "inertial": 1.75}
    each = [ergun_gradient(rate, MU, RHO, size=size, **grains) for size in layer.sublayer_sizes]
    return layer.depth * math.fsum(each) / len(each)


@pytest.mark.parametrize("uniformity", [1.0, 1.4])
def test_a_clean_bed_loses_what_its_sublayers_lose(uniformity: float) -> None:
    sizes = sublayer_sizes(0.5e-3, uniformity, 8)
    bed = (ANTHRACITE, replace(SAND, sublayer_sizes=sizes))
    case = serving((replace(FILTER, layers=bed, cells_per_layer=16),), feed=feed(0.0))
    assert signal(look(case, HOUR)) == pytest.approx(sum(clean_ergun(layer, RATE) for layer in bed), rel=1e-12)


def test_a_valve_loses_with_the_square_of_the_flow() -> None:
    constant = 15e3 / (RATE * AREA) ** 2
    stage = replace(FILTER, head_loss=replace(FILTER.head_loss, valve_constant=constant))
    bare = signal(look(serving((FILTER,), rate=2 * RATE), 0.0 + HOUR))
    assert signal(look(serving((stage,), rate=2 * RATE), HOUR)) - bare == pytest.approx(60e3, rel=1e-9)


def linear(gain: float, **given: Any) -> Stage:
    """One thin layer of sand whose head loss grows by gain [Pa/m per g/m3] at 12 m/h and 15 degC."""
    return one_layer(
        thin(SAND, head_loss_gain=gain),
        head_loss=replace(FILTER.head_loss, growth="linear"),
        reference_viscosity=MU,
        **given,
    )


@pytest.mark.parametrize("times", [0.5, 1.0, 2.0])
def test_linear_growth_is_the_gain_times_the_mean_deposit(times: float) -> None:
    """k sigma L v/v_ref: 0.25 m hold what 5 g/m3 brought in two days, less exp(-2.5) of it."""
    line = look(serving((linear(5.0),), rate=times * RATE), 2 * DAY)
    held = 5.0 * times * RATE * 2 * DAY * (1.0 - math.exp(-2.5))
    assert math.fsum(line.deposits(0)) == pytest.approx(held, rel=1e-9)
    grown = signal(line) - clean_ergun(SAND, times * RATE)
    assert grown == pytest.approx(5.0 * held * times, rel=1e-9)


def test_linear_growth_follows_the_viscosity() -> None:
    cold = serving((linear(5.0),), feed=feed(5.0, temperature=5.0))
    grown = signal(look(cold, 2 * DAY)) - signal(look(cold, 0.0))
    warm = serving((linear(5.0),))
    reference = signal(look(warm, 2 * DAY)) - signal(look(warm, 0.0))
    assert grown / reference == pytest.approx(viscosity(5.0) / MU, rel=1e-9)


def davis() -> tuple[Case, float]:
    """Davis (2010) eq. 11-8: D 1.8 m, v 15 m/h, C0 2, C_E 0.05 mg/L, k 1.2e-3 L m/mg, H_T 2.5, h_L 0.5 m."""
    rate, head = 15 / HOUR, RHO * STANDARD_GRAVITY
    clean = MU * rate * 1.8 * (1.0 - 0.42) ** 2 / (0.42**3 * (0.8 * 0.5e-3) ** 2)  # per viscous coefficient
    laminar = HeadLoss(law="carman-kozeny", viscous=0.5 * head / clean, inertial=0.0, growth="linear",
                       valve_constant=0.0, tap="vessel")  # fmt: skip
    gain = gain_from_mean_deposit(1.2e-3, 1.8, RHO)
    layer = thin(SAND, depth=1.8, filter_coefficients=(math.log(2.0 / 0.05) / 1.8,), head_loss_gain=gain)
    stage = one_layer(
        layer, head_loss=laminar, reference_rate=rate, reference_viscosity=MU,
        vessel=Vessel(diameter=0.762, height=2.5, pressure_rating=None),
    )  # fmt: skip
    trigger = Pressure(above=2.5 * head, hold=0.0, longest_run=5.0 * DAY)
    return serving((stage,), rate=rate, feed=feed(2.0), policies=(policy("head", trigger, stages=(stage,)),)), rate


def test_a_filter_runs_as_long_as_davis_says() -> None:
    """102.5641 h until the head is used up; 1500 mg/L held after 92.3077 h (computed from his eq. 11-8 and 11-7)."""
    case, rate = davis()
    until_head = run_length_by_head_loss(2.5, 0.5, 1.8, head_gain=1.2e-3, v=rate, inlet=2.0, outlet=0.05)
    [(start, cause)] = wash_starts(simulate(case, "head"))[:1]
    assert cause == "pressure drop"
    assert start == pytest.approx(until_head, rel=1e-7)
    assert start / HOUR == pytest.approx(102.5641, abs=5e-5)
    until_full = run_length_by_breakthrough(1500.0, 1.8, rate, inlet=2.0, outlet=0.05)
    assert until_full / HOUR == pytest.approx(92.3077, abs=5e-5)
    assert math.fsum(look(case, until_full).deposits(0)) / 1.8 == pytest.approx(1500.0, rel=1e-9)


def test_the_grid_error_of_head_loss_falls_with_the_cells() -> None:
    """About 0.2, 0.04 and 0.02 % at 5, 10 and 20 cells a layer, against 200."""
    at = {}
    for cells in (5, 10, 20, 200):
        stage = replace(FILTER, cells_per_layer=cells)
        at[cells] = signal(look(serving((stage,)), 3 * DAY))
    errors = [abs(at[cells] / at[200] - 1.0) for cells in (5, 10, 20)]
    assert errors[0] < 5e-3
    assert errors[1] < 0.4 * errors[0]
    assert errors[2] < 0.4 * errors[1]


# The mat


def with_mat(share: float, resistance: float) -> Stage:
    return one_layer(thin(SAND), mat=Mat(share=share, resistance=resistance))


def test_a_mat_takes_its_share_and_resists_in_proportion() -> None:
    """Ruth: a mu v w on top of the clean loss; the bed gets the rest (thin, pores stay open)."""
    line = look(serving((with_mat(0.4, 1e11),)), DAY)
    load = 5.0 * RATE * DAY
    assert line.vessel[0].mat == pytest.approx(0.4 * load, rel=1e-12)
    assert outlet(line) == pytest.approx(0.6 * 5.0 * math.exp(-2.5), rel=1e-9)
    assert signal(line) - clean_ergun(SAND, RATE) == pytest.approx(1e11 * MU * RATE * 0.4 * load / 1e3, rel=1e-9)


def test_a_mat_alone_brings_the_signal_to_its_set_point() -> None:
    """The mat grows by 0.4 of 5 mg/L at 12 m/h; 3 kPa more than the clean bed need a mass of 3 kPa / (a mu v)."""
    stages = (with_mat(0.4, 1e10),)
    trigger = Pressure(above=clean_ergun(SAND, RATE) + 3e3, hold=0.0)
    due = 3e3 / (1e10 * MU * RATE) * 1e3 / (0.4 * 5.0 * RATE)
    starts = [time for time, _ in wash_starts(simulate(serving(stages, policies=(policy("mat", trigger),)), "mat"))]
    assert starts[0] == pytest.approx(due, rel=1e-8)
    between = np.diff(starts) - 960.0  # of which the rinse has brought some, and the wash left some
    assert len(between) > 3
    assert between == pytest.approx(due, rel=0.05)


def test_a_mat_that_resists_nothing_only_filters() -> None:
    line = look(serving((with_mat(0.4, 0.0),)), DAY)
    assert signal(line) == pytest.approx(clean_ergun(SAND, RATE), rel=1e-9)


# Looking


def bytes_of(line: Line) -> list[bytes]:
    return [table.tobytes() for table in line._tables]


def test_looking_ahead_does_not_change_the_line() -> None:
    plant = Plant(make_case(), "pressure drop")
    plant.run_until(2.4 * DAY)
    line, before = plant._line, bytes_of(plant._line)
    ahead = line.at(3.3 * DAY)
    ahead.reading(0), ahead.run_figures(0, 14e3), ahead.deposits(0)
    assert bytes_of(line) == before
    assert line.time <= 2.4 * DAY < ahead.time == 3.3 * DAY
    assert ahead.vessel[0].treated > line.vessel[0].treated


def test_samples_do_not_change_a_run_and_tell_what_it_does() -> None:
    case = make_case(days=5.0)
    times = [0.0, HOUR, 99 * HOUR + 300.0, 99 * HOUR + 700.0, 99 * HOUR + 1000.0]
    samples = trace(case, "calendar", times=times)
    assert [s.phase for s in samples] == ["service", "service", "backwash", "rinse", "service"]
    assert [s.flow_m3_h for s in samples] == pytest.approx([1.8, 1.8, 0.0, 9.0, 1.8])
    assert [math.isnan(s.outlet_mg_l) for s in samples] == [False, False, True, False, False]
    assert trace(case, "calendar", times=times[1:2]) == samples[1:2]


def test_a_section_adds_up_to_what_the_bed_holds() -> None:
    case = make_case()
    ((slices, used),) = bed_sections(case, "calendar", times=[3 * DAY])
    assert used == ()
    assert len(slices) == 40
    assert (slices[0].top_m, slices[19].bottom_m, slices[-1].bottom_m) == pytest.approx((0.0, 0.45, 0.7))
    assert [s.medium for s in slices] == ["anthracite"] * 20 + ["sand"] * 20
    held = math.fsum(s.deposit_kg_m3 * (s.bottom_m - s.top_m) for s in slices) * AREA
    line = look(case, 3 * DAY)
    assert held * 1e3 == pytest.approx(line.vessel[0].in_total - line.vessel[0].out_total, rel=1e-9)
    upper = np.array([s.deposit_kg_m3 for s in slices[:20]])
    assert np.all(np.diff(upper) < 0.0)


def test_lines_of_a_case_share_only_rows_that_a_run_leaves_alone() -> None:
    """Ten days of one line leave what the next one starts with as it was."""
    case = make_case(days=10.0)
    before, used = build_tables(case), Plant(case, case.policies[0].name)
    used.run_until(10 * DAY)
    after = build_tables(case)
    for name, first, second in zip(Tables._fields, before, after, strict=True):
        assert first.tobytes() == second.tobytes(), name
        assert np.shares_memory(first, second) == (name not in CHANGING and first.size > 0), name
