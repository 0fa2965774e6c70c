"""Exact: the kind of water stands in for what the case leaves out, and each figure of the table is a range."""

from pathlib import Path

import pytest

from hydraulics.media import DEFAULTS
from sim.case.records import Assumption, Case
from sim.case.series.schema import FeedTable
from sim.case.series.waters import WATERS, Water
from tests.case.samples import MEDIUM, NAME, added, changed, load_text

FEED = 'suspended_solids = "5 mg/L"'
RIVER = WATERS["river"]
NARROWING = 'head_loss = { growth = "pore-narrowing" }'
LAYER = "stage.filter.layer.0"


def by_key(case: Case) -> dict[str, Assumption]:
    return {assumption.key: assumption for assumption in case.assumptions}


def ranges(water: Water) -> list[tuple[float, float, float]]:
    constants = (
        water.solids_per_turbidity,
        water.particle_size,
        water.deposit_density,
        water.storms_a_year,
        water.storm_strength,
        water.storm_length,
    )
    assert all(constant.assumed and "from memory" in constant.source for constant in constants)
    return [(constant.low, constant.value, constant.high) for constant in constants]


@pytest.mark.parametrize("water", WATERS.values(), ids=lambda water: water.kind)
def test_every_figure_is_a_range_from_memory(water: Water) -> None:
    for low, typical, high in ranges(water):
        assert 0.0 <= low <= typical <= high
        assert high > 0.0


@pytest.mark.parametrize("water", WATERS.values(), ids=lambda water: water.kind)
def test_figures_lie_where_the_trade_has_them(water: Water) -> None:
    """0.7 to 2.2 mg/L per NTU by water type, deposits that overlap 20 to 60 kg/m3: from memory, as the table is."""
    ratio, size, density = ranges(water)[:3]
    assert 0.7 <= ratio[0] < ratio[2] <= 2.2
    assert 0.1e-6 < size[0] < size[2] < 100e-6
    assert 5e3 < density[0] < density[2] <= 200e3
    assert density[0] < DEFAULTS["deposit_density"].high
    assert density[2] > DEFAULTS["deposit_density"].low


def test_there_are_seven_kinds() -> None:
    assert set(WATERS) == {
        "town", "town with old mains", "clear well", "iron well", "lake", "river", "pretreated reuse",
    }  # fmt: skip
    assert "water" in FeedTable.model_fields


def test_turbidity_becomes_solids_by_what_is_usual_for_the_water(tmp_path: Path) -> None:
    text = changed((FEED, 'turbidity = "4 NTU"\nwater = "river"'), (NAME, f'{NAME}\nlimit = "0.5 NTU"'))
    case = load_text(tmp_path, text)
    ratio = RIVER.solids_per_turbidity
    assert case.feed.solids.value == pytest.approx(4.0 * ratio.value)  # type: ignore[union-attr]
    assert case.stages[0].limit == pytest.approx(0.5 * ratio.value)
    assumed = by_key(case)["feed.solids_per_turbidity"]
    assert (assumed.low, assumed.value, assumed.high) == (ratio.low, ratio.value, ratio.high)
    assert assumed.source == ratio.source


def test_ratio_of_its_own_is_not_assumed(tmp_path: Path) -> None:
    own = 'turbidity = "4 NTU"\nwater = "river"\nsolids_per_turbidity = "2 mg/L per NTU"'
    case = load_text(tmp_path, changed((FEED, own)))
    assert case.feed.solids.value == 8.0  # type: ignore[union-attr]
    assert "feed.solids_per_turbidity" not in by_key(case)


def test_ratio_that_nothing_uses_is_not_assumed(tmp_path: Path) -> None:
    assert "feed.solids_per_turbidity" not in by_key(load_text(tmp_path, added((FEED, 'water = "river"'))))


@pytest.mark.parametrize("kind", WATERS)
def test_deposit_is_as_dense_as_is_usual_for_the_water(kind: str, tmp_path: Path) -> None:
    case = load_text(tmp_path, added((FEED, f'water = "{kind}"'), (NAME, NARROWING)))
    usual, assumed = WATERS[kind].deposit_density, by_key(case)[f"{LAYER}.deposit_density"]
    assert (assumed.low, assumed.value, assumed.high) == (usual.low, usual.value, usual.high)
    assert case.stages[0].layers[0].deposit_density == usual.value


def test_ultimate_deposit_fits_the_pores_that_the_water_fills(tmp_path: Path) -> None:
    """By hand: 20 kg/m3 of reuse water leave sand room for 0.9 x 20 (0.43 - 0.05) = 6.84 kg/m3."""
    case = load_text(tmp_path, added((FEED, 'water = "pretreated reuse"'), (NAME, NARROWING)))
    assert by_key(case)[f"{LAYER}.ultimate_deposit"].value == pytest.approx(6_840.0)
    assert "stage.filter.porosity_floor" in by_key(case)


def test_given_ultimate_deposit_is_judged_by_the_density_of_the_water(tmp_path: Path) -> None:
    """15 kg/m3 would not fit at the 30 kg/m3 of any water (11.4), but does at the 60 of a clear well (22.8)."""
    text = added((FEED, 'water = "clear well"'), (NAME, NARROWING), (MEDIUM, 'ultimate_deposit = "15 kg/m3"'))
    assert load_text(tmp_path, text).stages[0].layers[0].ultimate_deposit == 15_000.0


def test_particles_are_as_large_as_is_usual_for_the_water(tmp_path: Path) -> None:
    collector = (MEDIUM, 'filter_coefficient = { particle_density = "1100 kg/m3" }')
    sized = (MEDIUM, 'filter_coefficient = { particle_density = "1100 kg/m3", particle_size = "8 um" }')
    assumed = load_text(tmp_path, added((FEED, 'water = "river"'), collector))
    given = load_text(tmp_path, added(sized))
    key = f"{LAYER}.filter_coefficient.particle_size"
    assert by_key(assumed)[key].value == pytest.approx(8e-6)
    assert key not in by_key(given)
    assert assumed.stages[0].layers[0].filter_coefficients == pytest.approx(
        given.stages[0].layers[0].filter_coefficients
    )
