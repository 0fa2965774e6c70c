"""Exact: the reference case in SI, each value by hand from what the file says."""

import math
import pickle
from dataclasses import FrozenInstanceError
from datetime import datetime
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Case
from sim.case.series.records import Demand, Feed, Profile, Run, Steady
from sim.case.stage.records import HeadLoss, Step, Vessel
from sim.case.trigger.records import Calendar, Policy, Pressure, Volume, VolumeReserve

PATH = Path(__file__).parents[2] / "cases" / "reference.toml"
INCH = 0.0254  # m, by definition


@pytest.fixture(scope="module")
def case() -> Case:
    return load_case(PATH)


def close(value: float) -> object:
    """Equal but for the rounding of a conversion."""
    return pytest.approx(value, rel=1e-15)


def test_run_and_feed(case: Case) -> None:
    assert case.title == "Reference: one filter, steady feed"
    assert case.run == Run(start=datetime(2027, 1, 4), length=60 * 24 * 3600.0, allowed_over_limit=None)
    assert case.feed == Feed(temperature=Steady(value=15.0), solids=Steady(value=5.0), turbidity_ratio=None)


def test_demand_is_high_from_six_to_ten_in_the_evening(case: Case) -> None:
    flow = case.demand.flow
    assert isinstance(flow, Profile)
    assert flow.hourly == close((1.8 / 3600.0,) * 6 + (5.5 / 3600.0,) * 16 + (1.8 / 3600.0,) * 2)
    assert flow.weekday == (1.0,) * 7
    assert case.demand == Demand(flow=flow, season=None)


def test_vessel_and_laws(case: Case) -> None:
    (stage,) = case.stages
    assert stage.name == "filter"
    assert stage.limit == 0.5
    assert stage.vessel == Vessel(diameter=30 * INCH, height=1.5, pressure_rating=6e5)
    assert stage.vessel.area == close(math.pi * (15 * INCH) ** 2)
    assert stage.head_loss == HeadLoss(
        law="ergun", viscous=150.0, inertial=1.75, growth="pore-narrowing", valve_constant=0.0, tap="vessel"
    )
    assert (stage.ripening, stage.sloughing, stage.mat) == (None, None, None)
    assert (stage.unfilterable, stage.velocity_exponent, stage.underdrain_volume) == (0.0, 0.0, 0.0)
    assert (stage.tanks, stage.cells_per_layer, stage.porosity_floor) == (3, 20, 0.05)


def test_layers_top_first(case: Case) -> None:
    top, bottom = case.stages[0].layers
    assert (top.medium, bottom.medium) == ("anthracite", "sand")
    assert (top.depth, bottom.depth) == (0.45, 0.25)
    assert (top.size, bottom.size) == close((1.0e-3, 0.5e-3))
    assert (top.sublayer_sizes, bottom.sublayer_sizes) == ((top.size,), (bottom.size,))
    assert (top.uniformity, top.sphericity, top.porosity) == (1.0, 0.65, 0.48)
    assert (bottom.uniformity, bottom.sphericity, bottom.porosity) == (1.0, 0.80, 0.42)
    assert (top.filter_coefficients, bottom.filter_coefficients) == ((4.0,), (10.0,))
    assert (top.ultimate_deposit, bottom.ultimate_deposit) == (12_000.0, 9_000.0)
    assert (top.deposit_density, bottom.deposit_density) == (60_000.0, 60_000.0)


def test_wash(case: Case) -> None:
    backwash, rinse = case.stages[0].steps
    assert backwash == Step(
        do="backwash",
        seconds=600.0,
        flow=close(17 / 3600.0),
        water="clean",
        water_solids=None,
        cleaning_rate=close(0.8 / 60.0),
    )
    assert rinse == Step(
        do="rinse", seconds=360.0, flow=close(9 / 3600.0), water="raw", water_solids=None, cleaning_rate=None
    )


def test_policies_in_the_order_of_the_file(case: Case) -> None:
    three = 3 * 3600.0
    triggers = {
        "calendar": Calendar(every=4 * 86_400.0, at=three),
        "volume": Volume(volume=250.0, at=None),
        "volume with reserve": VolumeReserve(volume=330.0, reserve=60.0, at=three),
        "pressure drop": Pressure(above=14_000.0, hold=180.0),
    }
    wanted = [Policy(name=name, triggers=(("filter", trigger),)) for name, trigger in triggers.items()]
    assert list(case.policies) == wanted


def test_only_the_tanks_of_the_rinse_are_assumed(case: Case) -> None:
    """All else is given or plays no part: one pool in the wash, no exponent, the deposit never at the floor."""
    assert [assumption.key for assumption in case.assumptions] == ["stage.filter.tanks"]


def test_records_are_frozen_plain_data(case: Case) -> None:
    assert pickle.loads(pickle.dumps(case)) == case
    assert hash(case) == hash(load_case(PATH))
    with pytest.raises(FrozenInstanceError):
        case.stages[0].tanks = 4  # type: ignore[misc]


def test_the_hash_follows_the_content_and_not_its_layout(case: Case, tmp_path: Path) -> None:
    text = PATH.read_text(encoding="utf-8")
    assert len(case.source_hash) == 64

    def hash_of(changed: str) -> str:
        path = tmp_path / "case.toml"
        path.write_text(changed, encoding="utf-8")
        return load_case(path).source_hash

    assert hash_of("# a remark\n\n" + text.replace(" = ", "=")) == case.source_hash
    assert hash_of(text.replace('"4 d"', '"5 d"')) != case.source_hash
    assert hash_of(text.replace("03:00:00", "03:00:01", 1)) != case.source_hash
    assert hash_of(text.replace("2027-01-04T", "2027-01-05T")) != case.source_hash
