"""Exact and property: the catalogue, the defaults and sieve curves."""

import dataclasses
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydraulics.errors import DomainError
from hydraulics.media import (
    CATALOGUE,
    DEFAULTS,
    RESIN_TABLES,
    UPTAKE,
    Constant,
    grain_size_passing,
    sizes_passing,
    sublayer_sizes,
)
from hydraulics.salt import capacity_at, is_concave
from hydraulics.stoichiometry import SALT_PER_HARDNESS

CONSTANTS = {
    **{f"{name} {field.name}": getattr(medium, field.name)
       for name, medium in CATALOGUE.items() for field in dataclasses.fields(medium) if field.name != "name"},
    **DEFAULTS,
    **UPTAKE,
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(CONSTANTS))
def test_a_constant_lies_in_its_range_and_says_where_it_comes_from(name):
    constant = CONSTANTS[name]
    assert isinstance(constant, Constant)
    assert constant.low <= constant.value <= constant.high
    assert constant.low < constant.high
    assert constant.unit
    assert any(word in constant.source for word in ("Davis", "from memory", "published"))


# M. L. Davis, Water and Wastewater Engineering (2010), Tables 11-1 and 11-10; mm and specific gravity there.
@pytest.mark.parametrize(
    ("medium", "field", "low", "high"),
    [
        ("anthracite", "size", 0.9e-3, 1.4e-3),
        ("anthracite", "porosity", 0.53, 0.60),
        ("anthracite", "sphericity", 0.46, 0.73),
        ("anthracite", "grain_density", 1450.0, 1750.0),
        ("sand", "size", 0.45e-3, 0.55e-3),
        ("sand", "porosity", 0.40, 0.47),
        ("sand", "sphericity", 0.7, 0.95),
        ("garnet", "size", 0.20e-3, 0.35e-3),
        ("garnet", "grain_density", 3600.0, 4200.0),
        ("carbon", "size", 0.8e-3, 1.0e-3),
        ("carbon", "grain_density", 1300.0, 1700.0),
    ],
)
def test_ranges_of_the_catalogue(medium, field, low, high):
    constant = getattr(CATALOGUE[medium], field)
    assert (constant.low, constant.high) == pytest.approx((low, high), rel=1e-12)


# As above; single values there.
@pytest.mark.parametrize(
    ("medium", "field", "value"),
    [
        ("sand", "grain_density", 2650.0),
        ("garnet", "sphericity", 0.6),
        ("carbon", "porosity", 0.50),
        ("carbon", "sphericity", 0.75),
    ],
)
def test_values_of_the_catalogue(medium, field, value):
    assert getattr(CATALOGUE[medium], field).value == value


def test_no_quantity_has_two_typical_values():
    assert DEFAULTS.keys().isdisjoint(UPTAKE)


@pytest.mark.parametrize("table", RESIN_TABLES.values(), ids=RESIN_TABLES)
def test_salt_tables_are_concave_and_below_stoichiometry(table):
    assert is_concave(table.doses, table.capacities)
    for dose, capacity in zip(table.doses, table.capacities, strict=True):
        assert capacity < dose / SALT_PER_HARDNESS
        assert capacity_at(dose, table.doses, table.capacities) == capacity
    assert "page" in table.source


@pytest.mark.parametrize("medium", sorted(CATALOGUE))
def test_a_typical_bed_fills_with_deposit_before_its_pores_close(medium):
    room = CATALOGUE[medium].porosity.value - DEFAULTS["porosity_floor"].value
    assert CATALOGUE[medium].ultimate_deposit.value < DEFAULTS["deposit_density"].value * room


def test_the_catalogue_cannot_be_changed():
    with pytest.raises(TypeError):
        CATALOGUE["sand"] = CATALOGUE["garnet"]
    with pytest.raises(dataclasses.FrozenInstanceError):
        CATALOGUE["sand"].size.value = 1.0


@given(st.floats(1e-4, 5e-3), st.floats(1.01, 3.0), st.integers(1, 50))
def test_sublayers_grow_downward_and_straddle_the_median(effective_size, uniformity, count):
    sizes = sublayer_sizes(effective_size, uniformity, count)
    assert len(sizes) == count
    assert list(sizes) == sorted(sizes)
    normal = NormalDist()
    slope = 1.0 / (normal.inv_cdf(0.6) - normal.inv_cdf(0.1))
    median = effective_size * uniformity ** (-normal.inv_cdf(0.1) * slope)
    for fine, coarse in zip(sizes, reversed(sizes), strict=True):
        assert fine * coarse == pytest.approx(median**2, rel=1e-9)


@given(st.floats(1e-4, 5e-3), st.integers(1, 20))
def test_equal_grains_make_equal_sublayers(size, count):
    assert sublayer_sizes(size, 1.0, count) == (size,) * count


@pytest.mark.parametrize("count", [5, 15])
def test_sublayers_and_the_sieve_curve_are_inverses(count):
    """At 5 and 15 slices the mid-points include 10 %; between them the sieve curve is read back."""
    sizes = sublayer_sizes(0.5e-3, 1.5, count)
    passing = [100.0 * (i + 0.5) / count for i in range(count)]
    assert grain_size_passing(sizes, passing, 10.0) == pytest.approx(0.5e-3, rel=1e-12)
    assert grain_size_passing(sizes, passing, 60.0) == pytest.approx(0.75e-3, rel=0.02)


@pytest.mark.parametrize(
    ("arguments", "what"),
    [
        ((0.0, 1.5, 8), "effective size"),
        ((5e-4, 0.9, 8), "uniformity coefficient"),
        ((5e-4, float("nan"), 8), "uniformity coefficient"),
        ((5e-4, 1.5, 0), "number of sublayers"),
    ],
)
def test_sublayers_that_cannot_be_are_refused(arguments, what):
    with pytest.raises(DomainError, match=what):
        sublayer_sizes(*arguments)


def test_a_sieve_curve_gives_back_its_own_points_and_bears_level_stretches():
    openings, passing = [0.1, 0.2, 0.3, 0.6, 1.2], [0.0, 0.0, 10.0, 60.0, 100.0]
    for opening, percent in zip(openings[1:], passing[1:], strict=True):
        assert grain_size_passing(openings, passing, percent) == pytest.approx(opening, rel=1e-14)


@pytest.mark.parametrize(
    ("openings", "passing", "percent", "what"),
    [
        ([], [], 10.0, "sieve analysis"),
        ([0.1, 0.2], [5.0], 5.0, "a percent for each opening"),
        ([0.0, 0.2], [5.0, 50.0], 10.0, "above 0"),
        ([0.2, 0.1], [5.0, 50.0], 10.0, "both rising"),
        ([0.1, 0.2], [50.0, 5.0], 10.0, "both rising"),
        ([0.1, 0.2], [20.0, 50.0], 10.0, "percent passing: given 10 %, allowed 20 to 50 %"),
        ([0.1, 0.2], [5.0, 50.0], 60.0, "percent passing: given 60 %"),
    ],
)
def test_a_sieve_analysis_that_cannot_be_read_is_refused(openings, passing, percent, what):
    with pytest.raises(DomainError, match=what):
        grain_size_passing(openings, passing, percent)


@given(st.floats(1e-4, 2e-3), st.floats(1.05, 2.0))
def test_the_size_that_ten_and_sixty_percent_pass_are_those_given(effective_size, uniformity):
    (d10,) = sizes_passing(effective_size, uniformity, 1, 0.10)
    (d60,) = sizes_passing(effective_size, uniformity, 1, 0.60)
    (d90,) = sizes_passing(effective_size, uniformity, 1, 0.90)
    assert (d10, d60) == pytest.approx((effective_size, uniformity * effective_size), rel=1e-13)
    assert d90 > d60
    # The coarse end of the last of ten slices passes less than d90 does; that of the ninth is d90 itself, nearly.
    assert sizes_passing(effective_size, uniformity, 10, 0.999999)[8] == pytest.approx(d90, rel=1e-5)


@pytest.mark.parametrize(
    ("given_values", "message"),
    [
        ((0.0, 1.5, 8, 0.9), "effective size"),
        ((5e-4, 0.9, 8, 0.9), "uniformity coefficient"),
        ((5e-4, 1.5, 0, 0.9), "number of sublayers"),
        ((5e-4, 1.5, 8, 1.0), "share passing: given 1, allowed above 0 and below 1"),
    ],
)
def test_sizes_that_no_curve_has(given_values, message):
    with pytest.raises(DomainError, match=message):
        sizes_passing(*given_values)
