"""Exact and property: stratified beds under upflow, where layers mix, what a wash carries away."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydraulics.errors import DomainError
from hydraulics.expansion import (
    ExpandedLayer,
    ExpandedSublayer,
    Sublayer,
    expand,
    expand_layer,
    intermixing,
    media_loss,
    sublayers,
)
from hydraulics.fluidise import buoyant_gradient
from hydraulics.media import CATALOGUE, sizes_passing, sublayer_sizes
from hydraulics.settle import terminal_velocity
from hydraulics.water import density, viscosity

HOUR = 3600.0
MU, RHO = 1.14e-3, 999.1
rates = st.floats(0.0, 60.0 / HOUR)
ERGUN = {"viscous": 150.0, "inertial": 1.75}
SAND = Sublayer(depth=0.3, size=0.6e-3, sphericity=0.8, porosity=0.43, grain_density=2650.0)
COAL = Sublayer(depth=0.4, size=1.0e-3, sphericity=0.65, porosity=0.48, grain_density=1600.0)


def layer_of(name, depth=0.5):
    medium = CATALOGUE[name]
    return sublayers(
        depth, sublayer_sizes(medium.size.value, medium.uniformity.value, 8),
        sphericity=medium.sphericity.value, porosity=medium.porosity.value, grain_density=medium.grain_density.value,
    )  # fmt: skip


def lift(v, grains=SAND, mu=MU, form="ergun"):
    return expand(v, mu, RHO, grains, form=form, **ERGUN)


def lift_layer(rate, name, temperature=15.0, depth=0.5):
    return expand_layer(rate / HOUR, viscosity(temperature), density(temperature), layer_of(name, depth), **ERGUN)


# Layers


def test_a_layer_has_grains():
    with pytest.raises(DomainError, match="grain sizes: given none"):
        sublayers(0.5, [], sphericity=0.8, porosity=0.43, grain_density=2650.0)


# One sublayer


@given(rates, rates)
def test_height_porosity_and_loss_never_fall_as_the_rate_rises(one, other):
    slow, fast = (lift(v) for v in sorted((one, other)))
    assert SAND.depth <= slow.height <= fast.height
    assert SAND.porosity <= slow.porosity <= fast.porosity
    assert slow.loss <= fast.loss * (1.0 + 1e-12)
    assert slow.bulk_density >= fast.bulk_density


def test_nothing_jumps_where_the_bed_lifts():
    lifts = lift(0.0).fluidising
    before, after = lift(lifts * (1.0 - 1e-8)), lift(lifts * (1.0 + 1e-8))
    assert not before.fluidised
    assert after.fluidised
    assert after.height == pytest.approx(before.height, rel=1e-7)
    assert after.loss == pytest.approx(before.loss, rel=1e-7)
    assert lift(lifts).height == SAND.depth


@given(st.floats(1.001, 6.0))
def test_a_lifted_bed_loses_its_buoyant_weight(times):
    weight = SAND.depth * buoyant_gradient(SAND.porosity, SAND.grain_density, RHO)
    assert lift(times * lift(0.0).fluidising).loss == pytest.approx(weight, rel=1e-14)


@given(rates)
def test_grains_keep_their_volume(v):
    lifted = lift(v)
    assert lifted.height * (1.0 - lifted.porosity) == pytest.approx(SAND.depth * (1.0 - SAND.porosity), rel=1e-12)


def test_a_rate_that_carries_the_grains_away_leaves_no_height():
    lost = lift(0.3)
    assert lost.porosity >= 1.0
    assert math.isinf(lost.height)
    assert lost.bulk_density == RHO


# Just above the lifting velocity by Ergun the settling form gives no expansion: that is said, not answered.
def test_a_lifted_bed_no_wider_than_packed_is_an_error():
    lifts = lift(0.0, COAL).fluidising
    with pytest.raises(DomainError, match=r"expanded porosity: given 0\.\d+ at 11\.\d m/h, above the .* that lift"):
        lift(1.05 * lifts, COAL, form="richardson-zaki")
    assert lift(0.95 * lifts, COAL, form="richardson-zaki").height == COAL.depth
    assert lift(3.5 * lifts, COAL, form="richardson-zaki").height > COAL.depth


@given(st.floats(0.0, 0.06), st.floats(2e-4, 3e-3), st.floats(0.45, 1.0), st.floats(1200.0, 4200.0))
def test_the_form_of_ergun_never_contradicts_its_own_fluidisation(v, size, sphericity, grains):
    bed = Sublayer(depth=0.1, size=size, sphericity=sphericity, porosity=0.45, grain_density=grains)
    lifted = expand(v, MU, RHO, bed, **ERGUN)
    assert (lifted.porosity > bed.porosity) == lifted.fluidised


@pytest.mark.parametrize(
    ("v", "changed", "message"),
    [
        (-0.01, {}, "upflow: given -0.01 m/s, allowed 0 m/s or more"),
        (math.nan, {}, "upflow"),
        (0.01, {"porosity": 1.0}, "porosity: given 1, allowed above 0 and below 1"),
        (0.01, {"grain_density": 990.0}, "grain density: given 990 kg/m3"),
    ],
)
def test_a_bed_that_means_nothing(v, changed, message):
    bed = {"depth": 0.3, "size": 6e-4, "sphericity": 0.8, "porosity": 0.43, "grain_density": 2650.0}
    with pytest.raises(DomainError, match=message):
        lift(v, Sublayer(**bed | changed))


# A stratified layer


def test_a_layer_is_the_sum_of_its_sublayers():
    layer = lift_layer(30.0, "sand")
    parts = [expand(30.0 / HOUR, viscosity(15.0), density(15.0), each, **ERGUN) for each in layer_of("sand")]
    assert layer.height == pytest.approx(sum(part.height for part in parts), rel=1e-15)
    assert layer.loss == pytest.approx(sum(part.loss for part in parts), rel=1e-15)
    assert layer.depth == pytest.approx(0.5, rel=1e-15)


@given(st.floats(0.0, 70.0))
def test_fines_lift_first_and_expand_most(rate):
    layer = lift_layer(rate, "sand").sublayers
    assert [each.fluidised for each in layer] == sorted((each.fluidised for each in layer), reverse=True)
    assert [each.porosity for each in layer] == sorted((each.porosity for each in layer), reverse=True)
    assert [each.bulk_density for each in layer] == sorted(each.bulk_density for each in layer)


def test_a_layer_lifts_bit_by_bit():
    shares = [lift_layer(rate, "sand").fluidised_share for rate in (2.0, 12.0, 20.0, 45.0)]
    assert shares[0] == 0.0
    assert 0.0 < shares[1] < shares[2] < 1.0
    assert shares[3] == pytest.approx(1.0, rel=1e-15)


@pytest.mark.parametrize("name", ["anthracite", "sand", "garnet", "carbon", "oxidising media", "resin"])
def test_cold_water_expands_a_layer_more(name):
    cold, mild, warm = (lift_layer(37.0, name, temperature=t) for t in (5.0, 15.0, 28.0))
    assert cold.height > mild.height > warm.height
    assert cold.fluidised_share >= mild.fluidised_share >= warm.fluidised_share


# Neighbours


def packed_or_lifted(bulk, fluidised, height=0.1):
    return ExpandedSublayer(
        depth=0.1, height=height, porosity=0.5, fluidising=0.005, fluidised=fluidised, bulk_density=bulk, loss=0.0
    )


def mix(upper, lower):
    return intermixing(upper, lower).above > 0.0


def stack(*parts):
    return ExpandedLayer(sublayers=tuple(packed_or_lifted(*part) for part in parts))


def test_a_light_bed_stays_above_a_heavy_one():
    found = intermixing(stack((1200.0, True), (1300.0, True)), stack((1400.0, True), (1800.0, True)))
    assert (found.above, found.below) == (0.0, 0.0)


def test_equal_densities_stay_apart():
    assert not mix(stack((1400.0, True)), stack((1400.0, True)))


def test_only_what_is_out_of_order_mixes():
    upper = stack((1200.0, True, 0.21), (1350.0, True, 0.19), (1480.0, True, 0.17))
    lower = stack((1300.0, True, 0.13), (1450.0, True, 0.12), (1600.0, False, 0.10))
    found = intermixing(upper, lower)
    assert found.above == pytest.approx(0.19 + 0.17, rel=1e-15)
    assert found.below == pytest.approx(0.13 + 0.12, rel=1e-15)


@pytest.mark.parametrize(
    ("above", "below", "mixes"), [(False, False, False), (True, False, True), (False, True, True)]
)
def test_two_packed_beds_do_not_mix(above, below, mixes):
    assert mix(stack((1600.0, above)), stack((1400.0, below))) is mixes


@given(st.floats(0.0, 60.0), st.sampled_from(["anthracite", "sand", "garnet"]),
       st.sampled_from(["anthracite", "sand", "garnet"]))  # fmt: skip
def test_both_layers_mix_or_neither_and_no_further_than_they_are_high(rate, top, bottom):
    upper, lower = lift_layer(rate, top), lift_layer(rate, bottom)
    found = intermixing(upper, lower)
    assert (found.above > 0.0) == (found.below > 0.0)
    assert found.above <= upper.height * (1.0 + 1e-12)
    assert found.below <= lower.height * (1.0 + 1e-12)
    heaviest_above = max(each.bulk_density for each in upper.sublayers)
    if heaviest_above <= min(each.bulk_density for each in lower.sublayers):
        assert found.above == 0.0


# Anthracite over sand is the trade's usual pair, sand over garnet mixes at their border: common practice.
def test_usual_pairs():
    for rate in (37.0, 45.0):
        assert not mix(lift_layer(rate, "anthracite"), lift_layer(rate, "sand"))
        assert mix(lift_layer(rate, "sand"), lift_layer(rate, "garnet"))
        upside_down = intermixing(lift_layer(rate, "sand"), lift_layer(rate, "anthracite"))
        assert upside_down.above == pytest.approx(lift_layer(rate, "sand").height, rel=1e-12)


# Media loss


def lost(temperature=15.0, height=0.9, vessel=1.2):
    (finest,) = sizes_passing(1.0e-3, 1.5, 1, 0.01)
    grain = Sublayer(depth=0.1, size=finest, sphericity=0.6, porosity=0.55, grain_density=1600.0)
    return media_loss(
        height, mu=viscosity(temperature), rho=density(temperature), finest=grain, vessel_height=vessel
    )


def test_freeboard_is_what_the_expanded_bed_leaves():
    assert lost().freeboard == pytest.approx(0.3, rel=1e-12)
    assert not lost().overflows
    assert not lost(height=1.2).overflows
    assert lost(height=1.21).overflows
    assert lost(height=math.inf).overflows


def test_grains_go_at_the_settling_velocity_of_the_finest():
    assert lost().terminal == pytest.approx(
        terminal_velocity(viscosity(15.0), density(15.0), size=sizes_passing(1.0e-3, 1.5, 1, 0.01)[0],
                          sphericity=0.6, grain_density=1600.0), rel=1e-15,
    )  # fmt: skip


def test_cold_water_takes_grains_that_warm_water_leaves():
    assert lost(3.0).terminal < lost(28.0).terminal
