"""What a dose does in a run: the load of the beds, the water that carries it, and the books that count it."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Case
from sim.case.series.records import Changeable, Coagulant, Feed, Steady, Storms, Wander
from sim.case.stage.records import Stage
from sim.plant.errors import LedgerError
from sim.plant.records import RunResult
from sim.plant.simulate import Plant, simulate
from tests.case.samples import SMALL
from tests.plant.builders import (
    BACKWASH,
    DAY,
    FILTER,
    HOUR,
    M3_H,
    Calendar,
    make_case,
    policy,
    replace,
    steady,
    train,
)
from tests.plant.test_properties import compiled_and_plain_agree, number

RAW, FLOC, FLOW = 5.0, 2.0, 6.0 * M3_H
ALUM = Coagulant(product="alum", adds=FLOC, adds_per_solids=0.0)
FOLLOWS = Coagulant(product="iron", adds=0.0, adds_per_solids=0.4)
FED = Feed(temperature=Steady(value=15.0), solids=Steady(value=RAW), turbidity_ratio=None, coagulant=ALUM)
STORMY = Changeable(
    median=4.0, fast=Wander(spread=0.4, memory=5 * HOUR), slow=None, season=None,
    storms=Storms(per_year=60.0, height=5.0, length=20 * HOUR, season=None),
)  # fmt: skip
OPEN = replace(FILTER, while_washing="passes raw", unfilterable=0.03)


def case_of(*stages: Stage, feed: Feed = FED, name: str = "own", days: float = 10.0) -> Case:
    """Stages washed every two days, an hour apart, at a steady flow."""
    every = (Calendar(every=2 * DAY, at=(3.0 + place) * HOUR) for place in range(len(stages)))
    own = (policy(name, *every, stages=stages),)
    return make_case(stages=stages, policies=own, demand=steady(FLOW), feed=feed, days=days)


def closes(result: RunResult) -> None:
    """In and dosed are out or held, to 1e-9, for the site and each stage."""
    for figures in (result.site, *result.stages.values()):
        came = number(figures, "solids_in_kg") + (figures["solids_dosed_kg"] or 0.0)
        out = sum(number(figures, f"solids_{way}_kg") for way in ("to_service", "to_drain", "held"))
        assert came == pytest.approx(out, rel=1e-9)


def dosed_run(folder: Path, dose: float, growth: str) -> RunResult:
    """A sand filter without ripening whose pressure drop starts the washes, under a dose of alum [mg/L]."""
    text = (
        SMALL.replace('"5 mg/L"', f'"8 mg/L"\ncoagulant = {{ product = "alum", dose = "{dose:g} mg/L" }}')
        .replace('name = "filter"', f'name = "filter"\nripening = "none"\nhead_loss = {{ growth = "{growth}" }}')
        .replace('start_on = "volume"', 'start_on = "pressure drop"\nhold = "1 min"')
        .replace('volume = "250 m3"', 'above = "45 kPa"')
    )
    path = folder / "case.toml"
    path.write_text(text, encoding="utf-8")
    return simulate(load_case(path), "volume")


@pytest.mark.parametrize("growth", ["linear", "pore-narrowing"])
def test_runs_that_pressure_ends_go_by_the_load_of_solids_and_floc(growth: str, tmp_path: Path) -> None:
    """By hand: 8 mg/L of which 3 % pass, and 0.2625 g of hydroxide for each gram of alum, at 15 and at 45 mg/L."""
    little, much = (dosed_run(tmp_path, dose, growth) for dose in (15.0, 45.0))
    assert number(little.site, "pressure_share") == number(much.site, "pressure_share") == 1.0
    load = [8.0 * (1.0 - 0.03) + 0.2625 * dose for dose in (15.0, 45.0)]
    assert number(little.site, "mean_run_h") / number(much.site, "mean_run_h") == pytest.approx(
        load[1] / load[0], rel=0.02
    )
    closes(little)
    closes(much)


def test_what_is_dosed_goes_by_all_the_water_of_the_train() -> None:
    """By hand: service, and rinses of 6 min at 9 m3/h, each with 2 g/m3; the same water with 5 g/m3 is solids in."""
    site = simulate(case_of(FILTER), "own").site
    water = number(site, "treated_m3") + number(site, "rinse_m3")
    assert number(site, "rinse_m3") == pytest.approx(number(site, "washes") * 0.9)
    assert number(site, "solids_dosed_kg") == pytest.approx(water * FLOC / 1e3, rel=1e-12)
    assert number(site, "solids_in_kg") == pytest.approx(water * RAW / 1e3, rel=1e-12)


def test_without_a_coagulant_nothing_is_dosed() -> None:
    result = simulate(case_of(FILTER, feed=replace(FED, coagulant=None)), "own")
    assert result.site["solids_dosed_kg"] is None
    assert result.stages["filter"]["solids_dosed_kg"] is None


def test_raw_wash_water_is_drawn_ahead_of_the_dose() -> None:
    """17 m3/h for 10 min from a header bring 5 g/m3; drawn through the first stage, what that lets through."""
    raw = replace(FILTER, steps=(replace(BACKWASH, water="raw"),))
    plant = Plant(case_of(raw), "own")
    plant.run_until(6 * DAY)
    washes = number(plant.result().site, "washes")
    line = plant.look()
    assert line.vessel[0].wash_in_total == pytest.approx(washes * RAW * BACKWASH.flow * 600.0, rel=1e-12)
    first, second = train("first", "second", like=raw)
    pulled = replace(second, wash_path="through earlier stages")
    result = simulate(case_of(first, pulled), "own")
    through = number(result.stages["first"], "treated_m3")
    assert through > number(result.site, "treated_m3") + 4 * 17.0 / 6.0 - 1e-9  # four washes of the second on top
    assert number(result.site, "solids_dosed_kg") == pytest.approx(through * FLOC / 1e3, rel=1e-9)


def test_water_that_goes_round_a_stage_is_dosed() -> None:
    """16 min of every wash pass 6 m3/h of 7 g/m3 on."""
    site = simulate(case_of(OPEN), "own").site
    passed = number(site, "washes") * 16.0 / 60.0 * 6.0
    assert number(site, "bypass_kg") == pytest.approx(passed * (RAW + FLOC) / 1e3, rel=1e-9)


def test_floc_is_filterable_and_the_share_that_passes_is_of_the_raw_solids() -> None:
    """A bed that lets next to nothing through but 3 % of 5 g/m3; behind the second stage it is the same 3 %."""
    deep = tuple(replace(layer, filter_coefficients=(60.0,)) for layer in FILTER.layers)
    tight = replace(FILTER, layers=deep, unfilterable=0.03)
    for stages in ((tight,), train("one", "two", like=tight)):
        plant = Plant(case_of(*stages), "own")
        plant.run_until(1 * DAY)
        flow, _, inlet, outlet = plant.look().reading(len(stages) - 1)
        assert flow == pytest.approx(FLOW)
        assert outlet == pytest.approx(0.03 * RAW, rel=1e-6)
        assert inlet == pytest.approx(RAW + FLOC if len(stages) == 1 else 0.03 * RAW, rel=1e-6)


def test_a_dose_makes_a_limit_no_easier_to_keep() -> None:
    """What clean beds let through of floc counts to the hours that no bed could have avoided, where they are over."""
    thin = tuple(replace(layer, depth=0.05) for layer in FILTER.layers)
    stage = replace(FILTER, layers=thin, limit=2.5, ripening=None)
    bare = simulate(case_of(stage, feed=replace(FED, coagulant=None)), "own").site
    dosed = simulate(case_of(stage, feed=replace(FED, coagulant=replace(ALUM, adds=10.0))), "own").site
    assert number(bare, "over_limit_unavoidable_h") == 0.0
    assert number(dosed, "over_limit_unavoidable_h") > 200.0


@pytest.mark.parametrize("replicate", [0, 1])
def test_a_dose_that_follows_turbidity_follows_it_in_random_weather(replicate: int) -> None:
    """0.4 g dosed for each gram that the drawn weather brings, whatever that is, and the books close."""
    stages = train("first", "second", like=OPEN)
    case = case_of(*stages, feed=replace(FED, solids=STORMY, coagulant=FOLLOWS), days=60.0)
    result = simulate(case, "own", seed=5, replicate=replicate)
    closes(result)
    fed = number(result.site, "solids_in_kg")  # clean water washes, so that all of it is feed
    assert number(result.site, "solids_dosed_kg") == pytest.approx(0.4 * fed, rel=1e-9)
    steady_dose = simulate(replace(case, feed=replace(case.feed, coagulant=ALUM)), "own", seed=5, replicate=replicate)
    assert number(steady_dose.site, "solids_in_kg") == pytest.approx(fed, rel=1e-6)  # the same weather
    assert number(steady_dose.site, "solids_dosed_kg") != pytest.approx(0.4 * fed, rel=1e-2)


def test_a_dosed_run_in_parts_is_a_run_in_one() -> None:
    stages = train("first", "second", like=OPEN)
    case = case_of(*stages, feed=replace(FED, solids=STORMY, coagulant=FOLLOWS))
    whole, parts = Plant(case, "own"), Plant(case, "own")
    for i in range(1, 60):
        parts.run_until(i * 14_391.7)
        parts.look()
    for plant in (whole, parts):
        plant.run_until(10 * DAY)
    one, other = whole.result(), parts.result()
    assert (one.log, one.runs, one.site, one.stages) == (other.log, other.runs, other.site, other.stages)


def test_compiled_and_plain_agree_to_the_bit_on_a_dosed_train() -> None:
    stages = train("first", "second", like=OPEN)
    feed = replace(FED, solids=STORMY, coagulant=FOLLOWS)
    compiled_and_plain_agree(case_of(*stages, feed=feed, name="drawn", days=4.0))


@pytest.mark.parametrize("name", ["fed_total", "dosed_total"])
def test_a_dose_that_did_not_reach_the_beds_is_an_error(name: str) -> None:
    plant = Plant(case_of(FILTER), "own")
    plant.run_until(5 * DAY)
    plant._line._tables.control[name] += 0.1
    with pytest.raises(LedgerError, match="does not close"):
        plant.result()
