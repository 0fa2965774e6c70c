"""One wash looked at closely: its water by hand, its solids balanced, its first jar the water that the wash left."""

import math
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.plant.trace import trace
from sim.study.errors import RequestError
from sim.study.returned import AFTER, Returned, after_wash
from sim.tell.run.rinse_view import rinsed

ROOT = Path(__file__).parent.parent.parent
REFERENCE = ROOT / "cases" / "reference.toml"
RINSE = "stage.filter.step.rinse.minutes"


def wash(minutes: float, **settings: object) -> Returned:
    return after_wash(load_case(REFERENCE, {RINSE: minutes, **settings}), "volume", "filter")


def test_its_water_is_flow_times_minutes() -> None:
    """By hand: 17 m3/h for 10 minutes, 9 m3/h for 6."""
    found = wash(6)
    assert found.backwash_m3 == pytest.approx(17.0 * 10.0 / 60.0, rel=1e-9)
    assert found.rinse_m3 == pytest.approx(9.0 * 6.0 / 60.0, rel=1e-9)
    assert wash(0).rinse_m3 == 0.0


def test_without_a_rinse_solids_balance_over_the_wash() -> None:
    """Exact: wash water without solids, so the bed's solids are in the drain, in the bed or in the vessel's water."""
    case = load_case(REFERENCE, {RINSE: 0})
    found = after_wash(case, "volume", "filter")
    stage = case.stages[0]
    grains = math.fsum(layer.depth * (1.0 - layer.porosity) for layer in stage.layers)
    water = math.pi * 0.762**2 / 4.0 * (1.5 - grains)  # 30 in, 1.5 m, as the case has it
    left = found.to_drain_kg + found.after.bed_kg + found.after.water_mg_l * water / 1000.0
    assert left == pytest.approx(found.before.bed_kg, rel=1e-9)


def test_without_a_rinse_the_first_jar_is_the_water_that_the_wash_left() -> None:
    """Exact in the limit: what stands in the pores leaves unfiltered, before anything is displaced."""
    found = wash(0)
    first = found.outlet[0]
    assert first[0] == 0.25
    assert first[1] == pytest.approx(found.after.water_mg_l, rel=0.02)


def test_more_rinse_never_makes_a_jar_dirtier_and_saves_less_and_less() -> None:
    first = [wash(minutes).jars[0][1] for minutes in (0, 3, 7, 11)]
    assert first == sorted(first, reverse=True)
    assert first[0] > 2.0 * first[2]
    assert first[2] - first[3] < 0.2 * (first[0] - first[2])


def test_jars_are_drawn_at_their_minutes() -> None:
    found = wash(6)
    assert tuple(minutes for minutes, _ in found.jars) == AFTER
    known = dict(found.outlet)
    assert all(known[minutes] == solids for minutes, solids in found.jars)


def test_of_several_vessels_the_one_that_comes_back_is_looked_at() -> None:
    """By hand: 22 m3/h for 9 minutes and 4.5 m3/h for 13 in each of two multimedia vessels; outlets as traced."""
    case = load_case(ROOT / "cases" / "boiler_house.toml")
    policy = case.policies[0].name
    for stage, vessel in (("multimedia", "multimedia 1"), ("oxidising", "oxidising")):
        found = after_wash(case, policy, stage)
        assert found.before.bed_kg > found.after.bed_kg > 0.0
        times = [found.back_s + 60.0 * minutes for minutes, _ in found.outlet]
        own = [each.outlet_mg_l for each in trace(case, policy, times=times) if each.stage == vessel]
        assert [solids for _, solids in found.outlet] == pytest.approx(own, rel=1e-12)
        if stage == "multimedia":
            assert found.backwash_m3 == pytest.approx(22.0 * 9.0 / 60.0, rel=1e-9)
            assert found.rinse_m3 == pytest.approx(4.5 * 13.0 / 60.0, rel=1e-9)


def test_a_run_without_a_wash_is_told() -> None:
    with pytest.raises(RequestError, match="no wash of filter returns to flowing water"):
        after_wash(load_case(REFERENCE, {"run.length": "1 d"}), "volume", "filter")


def test_the_figure_shows_the_same_in_ntu() -> None:
    """By hand: the parts hall has 1.8 mg/L per NTU."""
    case = load_case(ROOT / "cases" / "parts_hall.toml")
    found = after_wash(case, "calendar", "multimedia")
    shown = rinsed(case, found, "us")
    assert shown.solids.unit == "NTU"
    assert shown.limit == pytest.approx(0.9, rel=1e-9)
    for (_, given), drawn in zip(found.jars, shown.jars["solids"], strict=True):
        assert drawn == pytest.approx(given / 1.8, rel=1e-9, nan_ok=True)
    depth = shown.sections[0].layers["bottom"].iloc[-1]
    assert depth == pytest.approx(30.0, rel=1e-6)  # 16 + 10 + 4 in


def test_where_nobody_asks_for_water_at_night_the_jars_are_of_the_morning() -> None:
    """Washed at 03:00, while water is used from 06:00 on: what the wash left stands in the vessel until then."""
    hourly = ["0 m3/h"] * 6 + ["5.5 m3/h"] * 16 + ["0 m3/h"] * 2
    case = load_case(REFERENCE, {RINSE: 0, "demand.hourly": hourly})
    found = after_wash(case, "calendar", "filter")
    sunrise = 6 * 3600.0
    assert found.back_s % 86400.0 == pytest.approx(3 * 3600.0 + 10 * 60.0, abs=1.0)
    first = found.back_s - found.back_s % 86400.0 + sunrise
    times = [first + 60.0 * minutes for minutes, _ in found.outlet[:4]]
    own = [each.outlet_mg_l for each in trace(case, "calendar", times=times)]
    assert [solids for _, solids in found.outlet[:4]] == pytest.approx(own, rel=0.02)
    assert found.outlet[0][1] == pytest.approx(found.after.water_mg_l, rel=0.02)
