"""What grain size and the water's temperature make of the constants of a layer, as a case file has them."""

import math
from pathlib import Path
from statistics import NormalDist, fmean

import pytest

from hydraulics import water
from hydraulics.media import CATALOGUE
from sim.case.records import Case
from sim.case.stage.records import Layer
from sim.errors import CaseError
from sim.study.many.assumed_settings import settings_of
from tests.case.samples import MEDIUM, NAME, added, load_text

COLLECTOR = 'filter_coefficient = { particle_size = "5 um", particle_density = "1100 kg/m3" }'


def case_of(folder: Path, stage: str = "", layer: str = "", *, medium: str = "sand") -> Case:
    text = added((NAME, stage), (MEDIUM, layer))
    return load_text(folder, text.replace(MEDIUM, f'medium = "{medium}"'))


def layer_of(folder: Path, stage: str = "", layer: str = "", *, medium: str = "sand") -> Layer:
    return case_of(folder, stage, layer, medium=medium).stages[0].layers[0]


def sieve_curve(d10: float, uniformity: float) -> list[float]:
    """Grain sizes in the middle of eighths of a lognormal sieve curve through d10 and d60."""
    z = NormalDist().inv_cdf
    spread = math.log(uniformity) / (z(0.6) - z(0.1))
    return [d10 * math.exp(spread * (z((i + 0.5) / 8) - z(0.1))) for i in range(8)]


@pytest.mark.parametrize("coagulated", ["false", "true"])
@pytest.mark.parametrize("exponent", [0.8, 1.5, 2.5])
@pytest.mark.parametrize("medium", sorted(CATALOGUE))
def test_a_catalogue_layer_keeps_its_mean(medium: str, exponent: float, coagulated: str, tmp_path: Path) -> None:
    """The catalogue's value is the mean over the depth of its own layer, whatever the exponents."""
    stage = f"coagulated = {coagulated}\nsize_exponent = {exponent}\ngain_size_exponent = {exponent}"
    layer, typical = layer_of(tmp_path, stage, medium=medium), CATALOGUE[medium]
    expected = typical.filter_coefficient if coagulated == "true" else typical.filter_coefficient_untreated
    assert len(layer.filter_coefficients) == 8
    assert fmean(layer.filter_coefficients) == pytest.approx(expected.value, rel=1e-12)
    assert layer.head_loss_gain == pytest.approx(5.0, rel=1e-12)


@pytest.mark.parametrize(("d10", "uniformity"), [(0.8e-3, 1.0), (0.8e-3, 1.4), (2.0e-3, 1.0), (2.0e-3, 1.6)])
def test_each_sublayer_captures_by_its_own_size(d10: float, uniformity: float, tmp_path: Path) -> None:
    """By hand from the sieve curves of both layers: 1.5 1/m d_i^-1.5 over the mean d^-1.5 of usual anthracite."""
    layer = layer_of(tmp_path, "", f'size = "{d10} m"\nuniformity = {uniformity}', medium="anthracite")
    usual = fmean(d**-1.5 for d in sieve_curve(1.0e-3, 1.5))
    sizes = [d10] if uniformity == 1.0 else sieve_curve(d10, uniformity)
    assert layer.filter_coefficients == pytest.approx([1.5 * d**-1.5 / usual for d in sizes], rel=1e-12)
    gain = 5.0 * fmean(1.0 / d for d in sizes) / fmean(1.0 / d for d in sieve_curve(1.0e-3, 1.5))
    assert layer.head_loss_gain == pytest.approx(gain, rel=1e-12)


def test_what_a_case_gives_is_the_mean_of_its_layer_as_it_is(tmp_path: Path) -> None:
    given = 'filter_coefficient = "7 1/m"\nhead_loss_gain = "4 Pa/m per g/m3"\nsize = "0.8 mm"\nuniformity = 1.4'
    layer = layer_of(tmp_path, "size_exponent = 2", given)
    top, below = layer.filter_coefficients[0], layer.filter_coefficients[-1]
    fine, coarse = sieve_curve(0.8e-3, 1.4)[0], sieve_curve(0.8e-3, 1.4)[-1]
    assert fmean(layer.filter_coefficients) == pytest.approx(7.0, rel=1e-12)
    assert top / below == pytest.approx((coarse / fine) ** 2, rel=1e-12)
    assert layer.head_loss_gain == 4.0
    assert layer_of(tmp_path, "", 'filter_coefficient = "7 1/m"\nuniformity = 1').filter_coefficients == (7.0,)
    assert layer_of(tmp_path, "size_exponent = 0", 'filter_coefficient = "7 1/m"').filter_coefficients == (7.0,)


def test_a_typical_value_of_the_case_is_scaled_like_the_catalogue_s(tmp_path: Path) -> None:
    grains = 'size = "0.8 mm"\nuniformity = 1.4'
    catalogue = layer_of(tmp_path, "", grains).filter_coefficients
    doubled = layer_of(tmp_path, "", f'{grains}\ntypical_coefficient = "8 1/m"').filter_coefficients
    assert doubled == pytest.approx([2.0 * each for each in catalogue], rel=1e-12)
    with pytest.raises(CaseError, match="typical_coefficient beside filter_coefficient"):
        case_of(tmp_path, "", 'typical_coefficient = "8 1/m"\nfilter_coefficient = "8 1/m"')


def test_what_is_typical_holds_at_15_degrees_whatever_the_reference_of_the_stage(tmp_path: Path) -> None:
    """By hand: (mu_15 / mu_5)^0.5 of the catalogue's 4 1/m where the stage refers to 5 degC; a given value stays."""
    stage = 'reference_temperature = "5 degC"'
    cold = fmean(layer_of(tmp_path, stage).filter_coefficients)
    assert cold == pytest.approx(4.0 * (water.viscosity(15.0) / water.viscosity(5.0)) ** 0.5, rel=1e-12)
    given = layer_of(tmp_path, stage, 'filter_coefficient = "4 1/m"')
    assert fmean(given.filter_coefficients) == pytest.approx(4.0, rel=1e-12)


@pytest.mark.parametrize(
    ("stage", "exponent"),
    [("", 0.5), ("velocity_exponent = 0.3", 0.3), ("velocity_exponent = 0.3\nviscosity_exponent = 0.8", 0.8)],
)
def test_the_viscosity_has_the_exponent_of_the_velocity_unless_told(
    stage: str, exponent: float, tmp_path: Path
) -> None:
    case = case_of(tmp_path, stage)
    assert case.stages[0].layers[0].viscosity_exponent == exponent
    assumed = [each for each in case.assumptions if each.key == "stage.filter.viscosity_exponent"]
    assert len(assumed) == (0 if "viscosity" in stage else 1)
    for each in assumed:
        assert (each.low, each.value, each.high) == pytest.approx((exponent - 0.1, exponent, exponent + 0.1))


def test_no_exponent_touches_what_a_single_grain_collects(tmp_path: Path) -> None:
    plain = layer_of(tmp_path, "", COLLECTOR)
    exponents = "size_exponent = 2.5\nviscosity_exponent = 1.5"
    other = layer_of(tmp_path, exponents, COLLECTOR)
    assert other.filter_coefficients == plain.filter_coefficients
    assert other.viscosity_exponent == 0.0


def test_the_ends_of_a_range_are_read_back_as_typical_values(tmp_path: Path) -> None:
    case = case_of(tmp_path, "", 'size = "0.8 mm"')
    by_name = {each.key.removeprefix("stage.filter."): each for each in case.assumptions}
    coefficient = by_name["layer.0.typical_coefficient"]
    assert settings_of(case, {coefficient: 8.0}) == {"stage.filter.layer.0.typical_coefficient": "8.0 1/m"}
