"""Exact: every way of writing that the reference case does not use, in SI by hand."""

from datetime import date
from pathlib import Path

import pytest

from hydraulics import water
from hydraulics.capture import collector_efficiency
from hydraulics.media import CATALOGUE, sublayer_sizes
from sim.case.series.records import Profile, Season, Seasonal, Steady
from sim.case.stage.records import Mat, Ripening, Sloughing
from sim.case.trigger.records import Calendar, Pressure
from tests.case.samples import BACKWASH, MEDIUM, NAME, SMALL, VESSEL, added, changed, load_text

SOLIDS, FLOW = 'suspended_solids = "5 mg/L"', 'flow = "5.5 m3/h"'
TEMPERATURE = 'temperature = "15 degC"'
JULY_20 = 31 + 28 + 31 + 30 + 31 + 30 + 20


def test_seasons_of_temperature_and_solids(tmp_path: Path) -> None:
    case = load_text(
        tmp_path,
        changed(
            (TEMPERATURE, 'temperature = { mean = "59 degF", swing = "9 degF", highest_on = 2027-07-20 }'),
            (SOLIDS, 'suspended_solids = { mean = "5 mg/L", swing = "2 g/m3", highest_on = 2028-12-31 }'),
        ),
    )
    assert case.feed.temperature == Seasonal(mean=15.0, swing=5.0, peak_day=JULY_20)
    assert case.feed.solids == Seasonal(mean=5.0, swing=2.0, peak_day=366)
    assert date(2027, 7, 20).timetuple().tm_yday == JULY_20


def test_turbidity_becomes_solids(tmp_path: Path) -> None:
    ratio = 'solids_per_turbidity = "1.5 mg/L per NTU"'
    case = load_text(
        tmp_path, changed((SOLIDS, f'turbidity = "4 NTU"\n{ratio}'), (NAME, f'{NAME}\nlimit = "0.2 NTU"'))
    )
    assert case.feed.solids == Steady(value=6.0)
    assert case.feed.turbidity_ratio == 1.5
    assert case.stages[0].limit == pytest.approx(0.3, rel=1e-15)

    hourly = ", ".join(f'"{hour} NTU"' for hour in range(24))
    weekday = "weekday = [1, 1, 1, 1, 1, 0.5, 0.25]"
    case = load_text(tmp_path, changed((SOLIDS, f"turbidity = {{ hourly = [{hourly}], {weekday} }}\n{ratio}")))
    assert case.feed.solids == Profile(
        hourly=tuple(1.5 * hour for hour in range(24)), weekday=(1.0, 1.0, 1.0, 1.0, 1.0, 0.5, 0.25)
    )

    season = 'turbidity = { mean = "4 NTU", swing = "4 NTU", highest_on = 2027-01-01 }'
    case = load_text(tmp_path, changed((SOLIDS, f"{season}\n{ratio}")))
    assert case.feed.solids == Seasonal(mean=6.0, swing=6.0, peak_day=1)


def test_limit_of_turbidity_with_a_feed_of_solids(tmp_path: Path) -> None:
    text = added((SOLIDS, 'solids_per_turbidity = "2 mg/L per NTU"'), (NAME, 'limit = "0.5 NTU"'))
    assert load_text(tmp_path, text).stages[0].limit == 1.0


def test_demand_by_hour_weekday_and_season(tmp_path: Path) -> None:
    hourly = ", ".join(['"3.6 m3/h"'] * 24)
    season = "season = { swing = 0.2, highest_on = 2027-02-01 }"
    demand = f"hourly = [{hourly}]\nweekday = [1, 1, 1, 1, 1, 0, 0.5]\n{season}"
    case = load_text(tmp_path, changed((FLOW, demand)))
    assert case.demand.flow == Profile(
        hourly=(pytest.approx(1e-3),) * 24, weekday=(1.0, 1.0, 1.0, 1.0, 1.0, 0.0, 0.5)
    )
    assert case.demand.season == Season(swing=0.2, peak_day=32)


def test_nothing_asked_for_and_no_time_are_cases(tmp_path: Path) -> None:
    case = load_text(tmp_path, changed((FLOW, 'flow = "0 m3/h"'), ('length = "60 d"', 'length = "0 d"')))
    assert (case.demand.flow, case.run.length) == (Steady(value=0.0), 0.0)


def test_longest_run_is_fifty_years(tmp_path: Path) -> None:
    case = load_text(tmp_path, changed(('length = "60 d"', 'length = "18263 d"\nallowed_over_limit = "24 h"')))
    assert case.run.length == 18_263 * 86_400.0
    assert case.run.allowed_over_limit == 86_400.0


def test_laws_and_their_coefficients(tmp_path: Path) -> None:
    laminar = 'head_loss = { law = "carman-kozeny", growth = "linear", tap = "bed" }'
    loss = load_text(tmp_path, added((NAME, laminar))).stages[0].head_loss
    assert (loss.law, loss.viscous, loss.inertial) == ("carman-kozeny", 180.0, 0.0)  # Carman 1937
    assert (loss.growth, loss.tap) == ("linear", "bed")

    own = 'head_loss = { law = "ergun", viscous = 112, inertial = 2.25, valve = "18 kPa at 3.6 m3/h" }'
    loss = load_text(tmp_path, added((NAME, own))).stages[0].head_loss
    assert (loss.viscous, loss.inertial) == (112.0, 2.25)
    assert loss.valve_constant == pytest.approx(18_000.0 / (1e-3) ** 2)


def test_effects_on_the_bed(tmp_path: Path) -> None:
    effects = """
ripening = { share = 0.4, volume = "3 m" }
sloughing = { exponent = 0.3 }
mat = { share = 0.2, resistance = "2e10 m/kg" }
unfilterable = 0.05
velocity_exponent = 1
reference_rate = "18 m/h"
tanks = 5
underdrain_volume = "30 L"
porosity_floor = 0.1
loose_rate = "1.2 1/min"
firm_rate = "0.12 1/min"
"""
    stage = load_text(tmp_path, added((NAME, effects))).stages[0]
    assert stage.ripening == Ripening(share=0.4, volume=3.0)
    assert stage.sloughing == Sloughing(exponent=0.3)
    assert stage.mat == Mat(share=0.2, resistance=2e10)
    assert (stage.unfilterable, stage.velocity_exponent, stage.tanks) == (0.05, 1.0, 5)
    assert stage.reference_rate == pytest.approx(5e-3)
    assert stage.underdrain_volume == pytest.approx(0.030)
    assert (stage.porosity_floor, stage.loose_rate, stage.firm_rate) == (0.1, pytest.approx(0.02), 0.002)


def test_effects_switched_off(tmp_path: Path) -> None:
    stage = load_text(tmp_path, added((NAME, 'ripening = "none"\nsloughing = "none"\nmat = "none"'))).stages[0]
    assert (stage.ripening, stage.sloughing, stage.mat) == (None, None, None)


def test_reference_temperature_sets_the_reference_viscosity(tmp_path: Path) -> None:
    """Source: IAPWS 2008, 1.001596143e-3 Pa s at 20 degC, computed with two public libraries."""
    stage = load_text(tmp_path, added((NAME, 'reference_temperature = "20 degC"'))).stages[0]
    assert stage.reference_viscosity == pytest.approx(1.001596143e-3, rel=1e-9)


def test_settle_and_filtered_wash_water(tmp_path: Path) -> None:
    steps = """water = "filtered"
water_solids = "0.2 mg/L"
[[stage.step]]
do = "settle"
minutes = 2.5
[[stage.step]]
do = "rinse"
minutes = 6
flow = "40 gpm\""""
    backwash, settle, rinse = load_text(tmp_path, added((BACKWASH, steps))).stages[0].steps
    assert (backwash.water, backwash.water_solids, backwash.cleaning_rate) == ("filtered", 0.2, None)
    assert (settle.do, settle.seconds, settle.flow) == ("settle", 150.0, 0.0)
    assert rinse.flow == pytest.approx(40 * 3.785411784e-3 / 60.0)  # US gallon, exact in litres
    assert (settle.water, rinse.water) == ("raw", "raw")


def test_graded_layer_is_cut_into_sublayers_with_whole_cells(tmp_path: Path) -> None:
    grains = 'size = "0.5 mm"\nuniformity = 1.5'
    stage = load_text(tmp_path, added((MEDIUM, grains), (NAME, "cells = 20"))).stages[0]
    assert stage.layers[0].sublayer_sizes == sublayer_sizes(0.5e-3, 1.5, 8)
    assert stage.cells_per_layer == 24
    stage = load_text(tmp_path, added((MEDIUM, grains), (NAME, "cells = 2"))).stages[0]
    assert stage.cells_per_layer == 8
    stage = load_text(tmp_path, added((MEDIUM, grains), (NAME, "cells = 200"))).stages[0]
    assert stage.cells_per_layer == 200


def test_sieve_analysis_gives_size_and_uniformity(tmp_path: Path) -> None:
    """By hand: 10 % pass at half the way (in logarithm) from 0.25 to 1 mm, 60 % pass 2 mm."""
    sieve = 'sieve = { opening = ["0.25 mm", "1 mm", "2 mm", "4 mm"], passing = [5, 15, 60, 100] }'
    layer = load_text(tmp_path, added((MEDIUM, sieve))).stages[0].layers[0]
    assert layer.size == pytest.approx(0.5e-3)
    assert layer.uniformity == pytest.approx(4.0)
    assert layer.sublayer_sizes == sublayer_sizes(layer.size, layer.uniformity, 8)


def test_filter_coefficient_from_what_one_grain_collects(tmp_path: Path) -> None:
    """1.5 (1 - e) / d alpha eta for every sublayer, at the reference rate and the mean temperature."""
    collector = '{ particle_size = "5 um", particle_density = "1.05 g/cm3", attachment = 0.1, hamaker = "1e-20 J" }'
    grains = f'size = "0.5 mm"\nuniformity = 1.4\nporosity = 0.42\nfilter_coefficient = {collector}'
    season = 'temperature = { mean = "15 degC", swing = "5 degC", highest_on = 2027-07-20 }'
    text = added((MEDIUM, grains), (NAME, 'reference_rate = "10 m/h"'))
    layer = load_text(tmp_path, text.replace(TEMPERATURE, season)).stages[0].layers[0]
    assert len(layer.filter_coefficients) == len(layer.sublayer_sizes) == 8
    for size, coefficient in zip(layer.sublayer_sizes, layer.filter_coefficients, strict=True):
        efficiency = collector_efficiency(
            5e-6,
            size,
            10.0 / 3600.0,
            porosity=0.42,
            temperature=15.0,
            mu=water.viscosity(15.0),
            rho=water.density(15.0),
            particle_density=1050.0,
            hamaker=1e-20,
        )
        assert coefficient == pytest.approx(1.5 * 0.58 / size * 0.1 * efficiency)


def test_layer_that_retains_nothing(tmp_path: Path) -> None:
    text = added((MEDIUM, 'filter_coefficient = "0 1/m"\nsize = "3 mm"\nuniformity = 1'))
    case = load_text(tmp_path, text)
    assert case.stages[0].layers[0].filter_coefficients == (0.0,)


def test_a_stage_with_a_longest_run_and_policies_with_shorter_ones(tmp_path: Path) -> None:
    policies = """
[policy.nightly.filter]
start_on = "calendar"
every = "36 h"
at = 02:30:15
longest_run = "7 d"
[policy.'by signal'.filter]
start_on = "pressure drop"
above = "2 psi"
hold = "0 s"
longest_run = "14 d"
"""
    stage = 'longest_run = "366 h"\nlongest_run_at = 04:20:00'
    case = load_text(tmp_path, added((NAME, stage)) + policies)
    assert (case.stages[0].longest_run, case.stages[0].longest_run_at) == (366 * 3600.0, 4 * 3600.0 + 20 * 60.0)
    assert [policy.name for policy in case.policies] == ["volume", "nightly", "by signal"]
    calendar, pressure = (dict(policy.triggers)["filter"] for policy in case.policies[1:])
    assert calendar == Calendar(every=36 * 3600.0, at=2 * 3600.0 + 30 * 60.0 + 15.0, longest_run=7 * 86_400.0)
    assert pressure == Pressure(above=pytest.approx(2 * 6894.757293168361), hold=0.0, longest_run=14 * 86_400.0)


def test_triggers_stand_in_the_order_of_the_train(tmp_path: Path) -> None:
    stage = SMALL[SMALL.index("[[stage]]") : SMALL.index("[policy")].replace("filter", "polisher")
    policy = '[policy.volume]\npolisher = { start_on = "volume", volume = "1 m3" }\n'
    filter_ = 'filter = { start_on = "volume", volume = "2 m3", at = 03:00:00 }\n'
    text = SMALL[: SMALL.index("[policy")] + stage + policy + filter_
    triggers = load_text(tmp_path, text).policies[0].triggers
    assert [(name, trigger.volume, trigger.at) for name, trigger in triggers] == [
        ("filter", 2.0, 10_800.0),
        ("polisher", 1.0, None),
    ]


def test_titles_and_names_in_any_script(tmp_path: Path) -> None:
    text = changed(("A small case", "Фильтр № 1, 试验 <b>&amp;</b> {x} %s"), (NAME, 'name = "Ф 1, east"'))
    case = load_text(tmp_path, text.replace("[policy.volume.filter]", '[policy.volume."Ф 1, east"]'))
    assert case.title == "Фильтр № 1, 试验 <b>&amp;</b> {x} %s"
    assert case.stages[0].name == "Ф 1, east"


def test_bed_as_high_as_its_vessel_fits(tmp_path: Path) -> None:
    """Three layers of 0.1, 0.2 and 0.4 m add up to a little more than 0.7 in binary."""
    layers = (
        '[[stage.layer]]\nmedium = "garnet"\ndepth = "0.2 m"\n[[stage.layer]]\nmedium = "garnet"\ndepth = "0.4 m"'
    )
    low = 'vessel = { diameter = "30 in", height = "0.7 m" }'
    text = changed(('depth = "0.7 m"', 'depth = "0.1 m"'), (VESSEL, low))
    assert load_text(tmp_path, text.replace("[[stage.step]]", f"{layers}\n[[stage.step]]"))


@pytest.mark.parametrize("medium", CATALOGUE)
def test_every_medium_of_the_catalogue_makes_a_layer(medium: str, tmp_path: Path) -> None:
    layer = load_text(tmp_path, changed((MEDIUM, f'medium = "{medium}"'))).stages[0].layers[0]
    typical = CATALOGUE[medium]
    assert (layer.medium, layer.size, layer.uniformity) == (medium, typical.size.value, typical.uniformity.value)
    assert (layer.sphericity, layer.porosity) == (typical.sphericity.value, typical.porosity.value)
    assert layer.grain_density == typical.grain_density.value
