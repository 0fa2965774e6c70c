"""Exact: what a wash draws from, where it goes and what the train feeds, in SI by hand."""

import re
from pathlib import Path

import pytest

from hydraulics.media import DEFAULTS
from sim.case.load import load_case
from sim.case.records import Case
from sim.case.train.records import Downstream
from sim.case.wash.records import Drain, Pipe, Restrictor, Sump, Supply
from tests.case.samples import BACKWASH, NAME, SMALL, added, load_text

DEMAND = 'flow = "5.5 m3/h"'
CURVE = """[supply]
flow = ["0 m3/h", "9 m3/h", "18 m3/h"]
pressure = ["4 bar", "3.4 bar", "1.8 bar"]
"""


def keys(case: Case) -> set[str]:
    return {each.key for each in case.assumptions}


def test_without_these_tables_a_case_is_as_before(tmp_path: Path) -> None:
    case = load_text(tmp_path, SMALL)
    assert (case.supply, case.drain, case.downstream) == (None, None, None)
    stage = case.stages[0]
    assert (stage.restrictor, stage.oxidant, stage.steps[0].air, case.feed.oxidant) == (None, None, False, None)


def test_a_supply_with_its_pipe(tmp_path: Path) -> None:
    more = """pipe = { diameter = "50 mm", length = "30 m", roughness = "0.1 mm", fittings = 6, rise = "-2 m" }
shared_with_service = true
others = "36 L/min\""""
    case = load_text(tmp_path, added((DEMAND, CURVE + more)))
    assert case.supply == Supply(
        flows=(0.0, pytest.approx(2.5e-3), pytest.approx(5e-3)),
        pressures=(4e5, pytest.approx(3.4e5), pytest.approx(1.8e5)),
        pipe=Pipe(diameter=0.05, length=30.0, roughness=pytest.approx(1e-4), fittings=6.0, rise=-2.0),
        shared_with_service=True,
        others=pytest.approx(6e-4),
    )
    assert not {key for key in keys(case) if key.startswith("supply")}


def test_one_pressure_up_to_a_limit(tmp_path: Path) -> None:
    supply = '[supply]\nlimit = "18 m3/h"\npressure = "3 bar"\npipe = { diameter = "2 in", length = "10 ft" }'
    case = load_text(tmp_path, added((DEMAND, supply)))
    assert case.supply is not None
    assert (case.supply.flows, case.supply.pressures) == ((0.0, pytest.approx(5e-3)), (3e5, 3e5))
    assert (case.supply.shared_with_service, case.supply.others) == (False, 0.0)
    pipe = case.supply.pipe
    assert pipe is not None
    assert (pipe.diameter, pipe.length, pipe.rise) == (pytest.approx(0.0508), pytest.approx(3.048), 0.0)
    assert (pipe.roughness, pipe.fittings) == (DEFAULTS["pipe_roughness"].value, DEFAULTS["pipe_fittings"].value)
    assert {"supply.pipe.roughness", "supply.pipe.fittings"} <= keys(case)


@pytest.mark.parametrize(
    ("told", "gap", "height"),
    [("", None, None), ("air_gap = true", True, None), ("air_gap = false", False, None),
     ('air_gap = "50 mm"', True, 0.05)],
)  # fmt: skip
def test_an_air_gap_is_stated_or_not(told: str, gap: bool | None, height: float | None, tmp_path: Path) -> None:
    drain = f'[drain]\ncapacity = "36 m3/h"\n{told}'
    case = load_text(tmp_path, added((DEMAND, drain)))
    assert case.drain == Drain(pipe=None, air_gap=gap, air_gap_height=height, sump=None, capacity=pytest.approx(0.01))


def test_a_sump_and_a_pipe_behind_the_drain(tmp_path: Path) -> None:
    drain = """[drain]
sump = { flow_limit = "10.8 m3/h", daily_limit = "40 m3" }
pipe = { diameter = "80 mm", length = "12 m" }"""
    case = load_text(tmp_path, added((DEMAND, drain)))
    assert case.drain is not None
    assert case.drain.sump == Sump(flow_limit=pytest.approx(3e-3), daily_limit=40.0)
    assert not {key for key in keys(case) if key.startswith("drain")}, "no supply of the case drives a wash there"
    case = load_text(tmp_path, added((DEMAND, f"{CURVE}{drain}")))
    assert {"drain.pipe.roughness", "drain.pipe.fittings"} <= keys(case)


def test_a_restrictor_in_the_drain_of_a_stage(tmp_path: Path) -> None:
    restrictor = (NAME, 'restrictor = { hole = "25 mm", pipe = "50 mm" }')
    case = load_text(tmp_path, added(restrictor))
    assert case.stages[0].restrictor == Restrictor(hole=0.025, pipe=0.05, discharge=0.61)
    assert "stage.filter.restrictor.discharge" not in keys(case)
    driven = load_text(tmp_path, added(restrictor, (DEMAND, CURVE)))
    assert "stage.filter.restrictor.discharge" in keys(driven)
    own = (NAME, 'restrictor = { hole = "25 mm", pipe = "50 mm", discharge = 0.7 }')
    assert "stage.filter.restrictor.discharge" not in keys(load_text(tmp_path, added(own, (DEMAND, CURVE))))


def test_air_counts_where_no_effective_rate_holds_it(tmp_path: Path) -> None:
    air = load_text(tmp_path, added((BACKWASH, "air = true")))
    assert (air.stages[0].steps[0].air, air.stages[0].air_factor) == (True, DEFAULTS["air_factor"].value)
    assert "stage.filter.air_factor" in keys(air)
    given = load_text(tmp_path, added((BACKWASH, "air = true"), (NAME, "air_factor = 3")))
    assert given.stages[0].air_factor == 3.0
    assert "stage.filter.air_factor" not in keys(given)
    for other in ("air = false", 'air = true\ncleaning_rate = "0.8 1/min"'):
        assert "stage.filter.air_factor" not in keys(load_text(tmp_path, added((BACKWASH, other))))


def test_oxidants_and_the_unit_downstream(tmp_path: Path) -> None:
    unit = '[downstream]\nmembrane = "polyamide"'
    title = ('title = "A small case"', 'use = "membrane"')
    feed = ('suspended_solids = "5 mg/L"', 'oxidant = "chlorine"')
    case = load_text(tmp_path, added(title, (DEMAND, unit), feed, (NAME, 'oxidant = "permanganate"')))
    plain = Downstream(membrane="polyamide", unit=None, feed_limit=None, cartridge=None)
    assert case.downstream == plain
    assert (case.feed.oxidant, case.stages[0].oxidant) == ("chlorine", "permanganate")


def test_assumed_constants_of_pipes_can_be_set_by_their_keys(tmp_path: Path) -> None:
    supply = CURVE + 'pipe = { diameter = "50 mm", length = "30 m" }'
    (tmp_path / "case.toml").write_text(added((DEMAND, supply)), encoding="utf-8")
    case = load_case(tmp_path / "case.toml", {"supply.pipe.roughness": "0.15 mm", "supply.pipe.fittings": 10.0})
    assert case.supply is not None
    assert case.supply.pipe is not None
    assert (case.supply.pipe.roughness, case.supply.pipe.fittings) == (pytest.approx(1.5e-4), 10.0)


def test_the_tables_of_the_readme_are_in_order(tmp_path: Path) -> None:
    readme = (Path(__file__).parents[2] / "cases" / "README.md").read_text(encoding="utf-8")
    (tables,) = re.findall(r"^```\n(\[supply\].*?)^```$", readme, re.MULTILINE | re.DOTALL)
    (restrictor,) = re.findall(r"`(restrictor = .*?)`", readme)
    case = load_text(tmp_path, added((NAME, restrictor)) + tables)
    assert case.supply is not None
    assert case.drain is not None
    assert case.stages[0].restrictor is not None
