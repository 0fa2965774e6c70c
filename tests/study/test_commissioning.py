"""What the commissioning page expects of a reading, against hand arithmetic and the model asked another way."""

import math
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from statistics import median

import pytest

from sim.case.load import load_case
from sim.case.records import Case
from sim.plant.simulate import simulate
from sim.plant.trace import trace
from sim.review.review import review
from sim.study.commissioning import DRAWS, SEEN, Key, Measurement, _expected, free_height, measurements
from sim.study.gauges import Shown
from sim.study.many.draws import Draws
from sim.study.sheet_runs import sheet_runs
from sim.wash.clean_bed import packed_depth
from sim.wash.regeneration import salt_brought, saturated_brine

CASES = Path("cases")
HOUR, DAY = 3600.0, 86_400.0
POLICY = "pressure drop"


@cache
def measured(name: str, policy: str) -> Mapping[tuple[str, str, str | None], Measurement]:
    path = CASES / f"{name}.toml"
    found = measurements(sheet_runs(load_case(path), policy), path)
    return {(each.stage.name, each.measured, each.step): each for each in found}


@cache
def reference() -> Case:
    return load_case(CASES / "reference.toml")


@pytest.fixture
def few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no band is looked at."""
    monkeypatch.setattr("sim.study.commissioning.DRAWS", 1)


def ergun(depth: float, size: float, sphericity: float, porosity: float, speed: float) -> float:
    """Pa, in water of 15 degC: 1.138 mPa s, 999.1 kg/m3."""
    bed, grain = 1.0 - porosity, sphericity * size
    viscous = 150.0 * 1.138e-3 * bed**2 * speed / (porosity**3 * grain**2)
    return depth * (viscous + 1.75 * 999.1 * bed * speed**2 / (porosity**3 * grain))


def test_the_clean_pressure_drop_by_hand() -> None:
    """Of the reference: 5.5 m3/h through 30 in, two layers, no loss in the valve; little deposit is left."""
    (expected,) = measured("reference", POLICY)["filter", "clean", None].expected
    speed = 5.5 / HOUR / (math.pi * 0.762**2 / 4.0)
    by_hand = ergun(0.45, 1e-3, 0.65, 0.48, speed) + ergun(0.25, 0.5e-3, 0.80, 0.42, speed)
    assert expected.value == pytest.approx(by_hand, rel=0.01)
    assert expected.low == pytest.approx(0.95 * expected.value - 1000.0, abs=60.0)  # a gauge of 5 % and 1 kPa
    assert expected.high == pytest.approx(1.05 * expected.value + 1000.0, abs=60.0)


def test_flows_to_the_drain_by_hand() -> None:
    """Without a supply a wash gets what it asks for, and a tenth is how near that is set."""
    for step, flow in (("backwash", 17.0), ("rinse", 9.0)):
        (expected,) = measured("reference", POLICY)["filter", "drain", step].expected
        assert expected.temperature is None
        assert (expected.low * HOUR, expected.value * HOUR, expected.high * HOUR) == pytest.approx(
            (0.9 * flow, flow, 1.1 * flow)
        )
    assert not measured("reference", POLICY)["filter", "drain", "rinse"].drawn


@cache
def shown() -> Shown:
    return sheet_runs(reference(), POLICY).shown["filter"]


def test_the_rise_in_a_day_is_that_of_the_run() -> None:
    """At noon and at noon a day later the reference draws the flow of the reading."""
    case, rises = reference(), shown().rise
    runs = [run for run in simulate(case, POLICY).runs if run.number > 1 and run.end_s >= run.start_s + DAY]
    assert len(rises) == len(runs) > 3
    for number in range(0, len(runs), len(runs) // 3):
        start = runs[number].start_s
        assert 6.0 <= start % DAY / HOUR <= 21.9
        before, after = trace(case, POLICY, times=[start + 1e-3, start + DAY])
        assert rises[number] == pytest.approx(1000.0 * (after.signal_kpa - before.signal_kpa), rel=0.01)
    found = measured("reference", POLICY)["filter", "rise", None]
    assert found.flow == pytest.approx(5.5 / HOUR)
    assert found.expected[0].value == median(rises)


def test_the_rinse_is_clear_when_the_run_says_so() -> None:
    case, times = reference(), shown().clear
    runs = [each for each in simulate(case, POLICY).runs if each.number > 1]
    assert len(times) == len(runs) > 3
    middle = len(runs) // 2
    begins = runs[middle].start_s - 6 * 60.0
    before, at = trace(case, POLICY, times=[begins + times[middle] - 15.0, begins + times[middle]])
    limit = case.stages[0].limit
    assert limit is not None
    assert before.phase == at.phase == "rinse"
    assert at.outlet_mg_l <= limit < before.outlet_mg_l
    assert measured("reference", POLICY)["filter", "clear", None].expected[0].value == median(times)


def test_the_bed_rises_as_the_review_finds_over_all_draws() -> None:
    path = CASES / "rope_walk.toml"
    case = load_case(path)
    found = measured("rope_walk", "pressure switch")["bed", "lift", None]
    assert found.drawn

    def rises(each: Case) -> dict[str, float]:
        return {finding.facts["water"]: (finding.value or 0.0) * packed_depth(each.stages[0])
                for finding in review(each) if finding.name == "expansion"}  # fmt: skip

    usual, draws = rises(case), [rises(Draws(path, case, 1)(number)) for number in range(DRAWS)]
    (expected,) = found.expected
    assert expected.value == pytest.approx(usual["steady"])
    values = sorted(each["steady"] for each in draws)
    assert len(values) == 20
    assert (expected.low, expected.high) == pytest.approx((values[1] - 0.02, values[-2] + 0.02))


@pytest.mark.usefixtures("few_draws")
def test_cold_water_loses_more_and_lifts_higher() -> None:
    for what in ("clean", "lift"):
        cold, warm = measured("greenhouse", "calendar")["fine", what, None].expected
        assert (cold.temperature, warm.temperature) == (5.0, 21.0)
        assert cold.value > warm.value


@pytest.mark.usefixtures("few_draws")
def test_the_brine_that_a_make_up_has_made_is_drawn() -> None:
    """17 min of 0.5 m3/h dissolve less than 58 min of 0.85 m3/h would draw."""
    found = measured("lens_works", "calendar")["softener", "brine", "regenerant"]
    (expected,) = found.expected
    assert expected.value == pytest.approx(salt_brought(found.stage) / saturated_brine(found.stage))
    assert 17 / 60 * 0.5 < expected.value < 58 / 60 * 0.85


def test_no_bed_may_rise_to_the_top_of_its_vessel() -> None:
    """Softener: 1.95 m of vessel, 1.15 m of resin; a bed that the draws lift to the top is seen within 20 mm."""
    softener = load_case(CASES / "lens_works.toml").stages[3]
    assert free_height(softener) == pytest.approx(0.8)
    key, most = Key("softener", "lift"), free_height(softener) - SEEN
    found = _expected({key: [0.655]}, {key: [0.62, 0.8]}, key, (0.0, SEEN), most)
    assert (found.low, found.value, found.high) == pytest.approx((0.6, 0.655, 0.78))


@pytest.mark.usefixtures("few_draws")
def test_a_softener_is_not_timed_by_its_solids() -> None:
    keys = measured("lens_works", "calendar")
    assert ("polish", "clear", None) in keys
    assert ("softener", "clear", None) not in keys
    assert ("softener", "drain", "displacement") in keys
    assert not any(what == "brine" and stage != "softener" for stage, what, _ in keys)
