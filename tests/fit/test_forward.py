"""The model on a log gives what the plant itself shows, and a constant there is the key of a case."""

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sim.case.fault.records import Fault
from sim.case.fault.records import What as Fails
from sim.case.load import load_case
from sim.fit.forward import Forward
from sim.fit.records import Constant
from sim.log.reading import read_log
from sim.log.records import Log, Washed, What
from tests.fit.plants import HOUR, STAGE, Plant, draw
from tests.log.made_log import make_log

FILTER, CARBON, RESIN = 1, 6, 4  # seeds of plants of these kinds


def exact(plant: Plant, folder: Path, days: float = 10.0, every: float = HOUR) -> Log:
    """The log of a plant without any error."""
    base = folder / "plant.toml"
    base.write_text(plant.text, encoding="utf-8")
    path = folder / "log.csv"
    make_log(
        path, base, seed=plant.seed, days=days, every=every, columns=plant.columns, truth=plant.settings, noise=None
    )
    return read_log(path)


def steady(plant: Plant, folder: Path) -> Plant:
    """The plant with water of one temperature; one that changes at midnight would be seen an hour early."""
    text = re.sub("temperature = .*", 'temperature = "13 degC"', plant.text)
    path = folder / "steady.toml"
    path.write_text(text, encoding="utf-8")
    return replace(plant, text=text, case=load_case(path))


@pytest.mark.parametrize("seed", [3, CARBON, RESIN])
def test_it_shows_what_the_plant_shows(seed: int, tmp_path: Path) -> None:
    """The plant ran under its own trigger and its own feed, every hour of which the log has."""
    plant = steady(draw(seed, tmp_path), tmp_path)
    forward = Forward(exact(plant, tmp_path), plant.case, STAGE, law=plant.law)  # type: ignore[arg-type]
    shown = forward.at({each: value for each, value in plant.truth.items() if each in forward.known})
    assert What.PRESSURE_DROP in shown
    for what, values in shown.items():
        seen = np.isfinite(values)
        assert seen.sum() > 0.9 * len(values)
        assert values[seen] == pytest.approx(forward.read[what][seen], rel=1e-6, abs=1e-9)


def test_errors_of_a_flow_beside_a_total_move_no_pressure_drop(tmp_path: Path) -> None:
    """What passed between two readings of the total is the better flow, where the one read is much the same."""
    plant = replace(steady(draw(RESIN, tmp_path), tmp_path), columns=(What.FLOW, What.TOTAL, What.PRESSURE_DROP))
    log = exact(plant, tmp_path)
    flows = log.of(What.FLOW)
    assert flows is not None
    rng = np.random.default_rng(1)
    values = np.array(flows.values) * rng.normal(1.0, 0.01, len(flows.values))
    misread = replace(flows, values=tuple(values.tolist()))
    erring = replace(log, series=tuple(misread if each is flows else each for each in log.series))
    drops = [Forward(each, plant.case, STAGE).at()[What.PRESSURE_DROP] for each in (log, erring)]
    alike = np.isclose(drops[1], drops[0], rtol=1e-3)
    assert alike.mean() > 0.75  # of the rest the flow changed within the hour


@pytest.mark.parametrize("seed", [2, 3, CARBON, RESIN, 8])
def test_a_constant_is_the_key_of_a_case(seed: int, tmp_path: Path) -> None:
    plant = draw(seed, tmp_path)
    forward = Forward(exact(plant, tmp_path, days=2.0), plant.case, STAGE, law=plant.law)  # type: ignore[arg-type]
    base = tmp_path / "plant.toml"
    (written,) = load_case(base, plant.settings).stages
    (changed,) = forward.changed(plant.truth).stages
    assert changed.head_loss.growth == written.head_loss.growth == plant.law
    for name in ("valve_constant", "viscous", "inertial"):
        assert getattr(changed.head_loss, name) == pytest.approx(getattr(written.head_loss, name), rel=1e-6)
    assert (changed.loose_rate, changed.firm_rate) == pytest.approx((written.loose_rate, written.firm_rate))
    constant = "head_loss_gain" if plant.law == "linear" else "deposit_density"
    for one, other in zip(changed.layers, written.layers, strict=True):
        assert one.filter_coefficients == pytest.approx(other.filter_coefficients, rel=1e-6)
        assert one.ultimate_deposit == pytest.approx(other.ultimate_deposit, rel=1e-6)
        assert getattr(one, constant) == pytest.approx(getattr(other, constant), rel=1e-6)
        if one.uptake is not None and seed == RESIN:
            assert one.uptake.capacities == pytest.approx(other.uptake.capacities)  # type: ignore[union-attr]
        if one.uptake is not None and seed == CARBON:
            assert one.uptake.half_length == pytest.approx(other.uptake.half_length)  # type: ignore[union-attr]


def test_keys_are_those_of_a_case(tmp_path: Path) -> None:
    """Every key can be set in the case, to the value that is there."""
    plant = draw(3, tmp_path)
    forward = Forward(exact(plant, tmp_path, days=2.0), plant.case, STAGE)
    keys = {key for known in forward.known.values() for key in known.key}
    assert f"stage.{STAGE}.head_loss.viscous" in keys
    assert keys - set(plant.settings) <= {"feed.solids_per_turbidity"} | {
        key for key in keys if key.endswith("head_loss_gain")
    }


def test_a_reading_at_the_start_of_a_wash_is_of_the_run_before(tmp_path: Path) -> None:
    plant = draw(3, tmp_path)
    log = exact(plant, tmp_path, days=4.0)
    (first, *_) = log.washes
    assert first.start in log.of(What.PRESSURE_DROP).times  # type: ignore[union-attr]
    shown = Forward(log, plant.case, STAGE).at()[What.PRESSURE_DROP]
    forward = Forward(log, plant.case, STAGE)
    place = forward.times[What.PRESSURE_DROP].tolist().index(first.start)
    assert np.isfinite(shown[place])
    later = replace(log, washes=(Washed(start=first.start + 1.0, end=None, drained=None, found="marked"),))
    assert Forward(later, plant.case, STAGE).at()[What.PRESSURE_DROP][place] == pytest.approx(shown[place])


def test_solids_per_turbidity_scales_the_feed(tmp_path: Path) -> None:
    """Twice the solids in each NTU with half the gain is the same pressure, while the bed is far from full."""
    plant = draw(3, tmp_path)
    forward = Forward(exact(plant, tmp_path, days=4.0), plant.case, STAGE)
    gain = forward.known[Constant.GROWTH].value
    usual = forward.at()[What.PRESSURE_DROP]
    other = forward.at({Constant.SOLIDS_PER_TURBIDITY: 1.01, Constant.GROWTH: gain / 1.01})[What.PRESSURE_DROP]
    assert np.nanmax(np.abs(other - usual)) < 1e-3 * np.nanmax(usual)
    assert np.nanmax(np.abs(other - usual)) > 0.0


@pytest.mark.parametrize("seed", [3, CARBON, RESIN])
def test_the_short_run_is_the_plant(seed: int, tmp_path: Path) -> None:
    """A fault that begins as the log ends changes nothing but has the whole plant run, processes and all."""
    plant = draw(seed, tmp_path)
    forward = Forward(exact(plant, tmp_path, every=3 * HOUR), plant.case, STAGE)
    last = Fault(what=Fails.SALT_OUT, stage=STAGE, start=forward.log.length, end=math.inf)
    short, whole = forward.at(), forward.at(faults=(last,))
    for what in short:
        assert short[what] == pytest.approx(whole[what], rel=1e-9, nan_ok=True)
