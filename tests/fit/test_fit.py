"""What a log tells: exactly without errors, and honestly where it tells little."""

import re
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from sim.case.stage.clean_run import CleanRun, inflow_of
from sim.fit.fit import _find, _sides, fit_log
from sim.fit.records import Constant, Fit, Need
from sim.log.records import Log, Series, What
from tests.case.samples import MEDIUM, NAME, SMALL, load_text
from tests.fit.plants import HOUR, STAGE, draw
from tests.fit.test_forward import CARBON, RESIN, exact, steady

DAY = 86_400.0


@pytest.mark.parametrize("seed", [8, RESIN, pytest.param(3, marks=pytest.mark.long)])
def test_constants_come_back_without_errors(seed: int, tmp_path: Path) -> None:
    """The readings are those of the plant under its own trigger; the fit begins with the usual values."""
    plant = steady(draw(seed, tmp_path), tmp_path)
    columns = tuple(dict.fromkeys((*plant.columns, What.TURBIDITY_OUT, What.TEMPERATURE)))
    fit = fit_log(exact(replace(plant, columns=columns), tmp_path, days=12.0), plant.case, STAGE)
    assert fit.law == plant.law
    for constant, truth in plant.truth.items():
        found = fit.of(constant)
        assert found is not None
        assert found.identifiable
        assert found.value == pytest.approx(truth, rel=1e-6)
        assert found.low <= found.value <= found.high


def test_one_flow_parts_no_valve_from_its_bed(tmp_path: Path) -> None:
    plant = draw(3, tmp_path)
    hours = plant.text[plant.text.index("hourly") : plant.text.index("[[stage]]")]
    text = plant.text.replace(hours, 'flow = "3 m3/h"\n')
    fit = fit_log(replace(plant, text=text).log(tmp_path), plant.case, STAGE)
    valve, bed, growth = (fit.of(each) for each in (Constant.VALVE, Constant.CLEAN_BED, Constant.GROWTH))
    assert valve is not None
    assert bed is not None
    assert growth is not None
    assert (valve.identifiable, valve.needs, valve.inseparable_from) == (False, Need.OTHER_FLOWS, Constant.CLEAN_BED)
    assert (bed.identifiable, bed.needs, bed.inseparable_from) == (False, Need.OTHER_FLOWS, Constant.VALVE)
    assert valve.value == pytest.approx(valve.before[1])
    assert growth.identifiable
    assert growth.low <= growth.value <= growth.high


@pytest.mark.parametrize("seed", [397357, pytest.param(397376, marks=pytest.mark.long)])
def test_ends_of_intervals_are_those_of_a_full_search(seed: int, tmp_path: Path) -> None:
    """Of two plants whose constants hang together closely: at each end no other numbers leave less, by much."""
    plant = draw(seed, tmp_path)
    found = _find(plant.log(tmp_path), plant.case, STAGE, plant.case.stages[0].head_loss.growth, lambda runs: None)
    problem, told = found.problem, _sides(found, lambda runs: None)
    least = problem.cost(found.x)
    for constant, sides in told.items():
        n = problem.free.index(constant)
        for side in (each for each in sides if each.bounded):
            start, ends = found.x.copy(), (problem.low[n], problem.high[n])
            start[n] = side.at
            problem.low[n], problem.high[n] = side.at - 1e-6, side.at + 1e-6
            full = problem.best(start, tolerance=1e-4)
            problem.low[n], problem.high[n] = ends
            rise = problem.cost(full) - least
            assert rise >= 0.75 * found.spread.threshold[n], constant


def hand_sheet(plant_seed: int, rows: int, tmp_path: Path, seed: int) -> Fit:
    """A page of a reading a day, to the last kPa."""
    plant = draw(plant_seed, tmp_path)
    log = exact(plant, tmp_path, days=float(rows - 1), every=DAY)
    rng = np.random.default_rng(seed)
    series = tuple(
        replace(each, values=tuple(np.round(each.values + 1e3 * rng.standard_normal(rows), -3)), resolution=1e3)
        if each.what is What.PRESSURE_DROP
        else each
        for each in log.series
    )
    return fit_log(replace(log, series=series), plant.case, STAGE)


def test_ten_readings_give_wide_intervals(tmp_path: Path) -> None:
    """A page of ten days tells growth to no better than half as much again, and holds the truth."""
    plant, fit = draw(3, tmp_path), hand_sheet(3, 10, tmp_path, 5)
    assert fit.noise[0].count == 10
    assert fit.law in (None, plant.law)
    growth = fit.of(Constant.GROWTH)
    assert growth is not None
    assert growth.high / growth.low > 1.5
    for each in fit.constants:
        assert not each.identifiable or each.low <= plant.truth[each.constant] <= each.high


def test_without_breakthrough_a_capacity_is_a_lower_bound(tmp_path: Path) -> None:
    plant = draw(RESIN, tmp_path)
    settings = {**plant.settings, f"stage.{STAGE}.layer.0.capacity_factor": 2.9}
    text = re.sub("hardness = .*", 'hardness = "60 mg/L"', plant.text)
    log = replace(plant, settings=settings, text=text, days=3.0).log(tmp_path)  # without errors its leak told it
    assert not log.washes
    assert max(log.of(What.HARDNESS_OUT).values) < 0.1 * max(log.of(What.HARDNESS_IN).values)  # type: ignore[union-attr]
    found = fit_log(log, plant.case, STAGE).of(Constant.SOFTENER_CAPACITY)
    assert found is not None
    assert not found.identifiable
    assert found.bound == "lower"
    assert found.needs is Need.BREAKTHROUGH
    assert 0.5 < found.low <= 2.9


def test_chlorine_that_never_shows_bounds_the_half_length_from_above(tmp_path: Path) -> None:
    plant = draw(CARBON, tmp_path)
    settings = {**plant.settings, f"stage.{STAGE}.layer.0.half_length": "0.02 m"}
    log = exact(replace(plant, settings=settings), tmp_path, days=5.0)
    series = tuple(
        replace(each, values=tuple(np.round(each.values, 2)), resolution=0.01)
        if each.what is What.CHLORINE_OUT
        else each
        for each in log.series
    )
    found = fit_log(replace(log, series=series), plant.case, STAGE).of(Constant.HALF_LENGTH)
    assert found is not None
    assert not found.identifiable
    assert found.bound == "upper"
    assert found.high >= 0.02


def test_what_has_no_reading_is_named_with_it(tmp_path: Path) -> None:
    plant = draw(3, tmp_path)
    columns = (What.FLOW, What.TOTAL, What.PRESSURE_DROP, What.TURBIDITY_IN, What.WASH)
    fit = fit_log(exact(replace(plant, columns=columns), tmp_path, every=3 * HOUR), plant.case, STAGE)
    needs = {each.constant: each.needs for each in fit.constants if not each.identifiable}
    assert needs[Constant.CAPTURE] is Need.TURBIDITY_OUT
    assert needs[Constant.CLEANING] is Need.TEMPERATURE
    assert needs[Constant.SOLIDS_PER_TURBIDITY] is Need.SOLIDS_WEIGHED
    solids = fit.of(Constant.SOLIDS_PER_TURBIDITY)
    assert solids is not None
    assert solids.inseparable_from is Constant.GROWTH


def test_the_same_log_gives_the_same_fit(tmp_path: Path) -> None:
    plant = draw(8, tmp_path)
    plant = replace(plant, days=12.0)
    assert fit_log(plant.log(tmp_path), plant.case, STAGE) == fit_log(plant.log(tmp_path), plant.case, STAGE)


def test_from_twenty_runs_on_they_are_drawn_anew(tmp_path: Path) -> None:
    plant = draw(8, tmp_path)
    text = plant.text.replace('every = "2 d"', 'every = "1 d"')
    assert text != plant.text
    log = replace(plant, text=text, days=24.0, every=2 * HOUR).log(tmp_path)
    assert len(log.runs()) > 20
    fit = fit_log(log, plant.case, STAGE)
    assert fit.bootstrap is not None
    assert set(fit.bootstrap) == {each.constant for each in fit.constants if each.identifiable}
    for constant, (low, high) in fit.bootstrap.items():
        found = fit.of(constant)
        assert found is not None
        assert low <= found.value <= high
        assert max(low, found.low) < min(high, found.high)


KNOWN = 'known_run = { flow = "5.5 m3/h", gain = "20 kPa", after = "3 d" }'
GAIN = 'head_loss = { law = "ergun", growth = "linear" }'
PORES = 'head_loss = { law = "ergun", growth = "pore-narrowing", tap = "bed" }'


@pytest.mark.parametrize(("law", "key"), [(GAIN, "head_loss_gain"), (PORES, "deposit_density")])
def test_a_known_run_is_the_smallest_case_of_a_fit(law: str, key: str, tmp_path: Path) -> None:
    """Readings along the run that a case knows give the constant that the case took from its end."""
    given = SMALL.replace(MEDIUM, f'{MEDIUM}\nfilter_coefficient = "9 1/m"')
    known = load_text(tmp_path, given.replace(NAME, f"{NAME}\n{law}\n{KNOWN}"))
    stage, flow = known.stages[0], 5.5 / HOUR
    arriving = inflow_of(known.stages, 0, known.feed, flow=flow, temperature=15.0).filterable
    run = CleanRun(stage=stage, flow=flow, temperature=15.0)
    times = np.linspace(0.0, 3.0 * DAY, 25)
    valve = stage.head_loss.valve_constant * flow**2 if stage.head_loss.tap == "vessel" else 0.0
    drops = [run.pressure_drop(arriving * flow * time / stage.vessel.area) + valve for time in times.tolist()]
    assert drops[-1] - drops[0] == pytest.approx(20e3)
    log = Log(
        file="known", start=datetime(2027, 1, 4), length=3.0 * DAY, washes=(),
        series=(
            Series(what=What.FLOW, times=tuple(times), values=(flow,) * 25, resolution=0.0),
            Series(what=What.PRESSURE_DROP, times=tuple(times), values=tuple(drops), resolution=0.0),
        ),
    )  # fmt: skip
    unknown = load_text(tmp_path, given.replace(NAME, f"{NAME}\n{law}"))
    fit = fit_log(log, unknown, "filter")
    growth = fit.of(Constant.GROWTH)
    assert growth is not None
    assert growth.key == (f"stage.filter.layer.0.{key}",)
    assert growth.value == pytest.approx(getattr(stage.layers[0], key), rel=1e-6)
