"""Assumed constants drawn: within their ranges, after the law that is said, each from a stream of its own."""

from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from sim.case.load import load_case
from sim.case.records import Assumption
from sim.study.errors import StudyError
from sim.study.many.draws import Draws, drawn
from sim.study.many.repeat import repeat
from sim.study.many.workers import Crew, Here
from tests.cli.small import small_text

GREENHOUSE = Path(__file__).parents[2] / "cases" / "greenhouse.toml"


def constant(low: float, value: float, high: float) -> Assumption:
    return Assumption(key="k", value=value, low=low, high=high, unit="-", source="made")


@pytest.mark.parametrize(("low", "value", "high"), [(4.5, 9.0, 13.5), (0.0, 0.5, 1.0), (0.0, 0.0, 1.0)])
def test_draws_are_triangular(low: float, value: float, high: float) -> None:
    """scipy.stats.triang, an implementation apart from numpy's, by the Kolmogorov-Smirnov test."""
    random = np.random.default_rng(3)
    draws = [drawn(constant(low, value, high), random) for _ in range(4000)]
    law = stats.triang((value - low) / (high - low), low, high - low)
    assert stats.kstest(draws, law.cdf).pvalue > 0.01


def test_draws_are_triangular_in_the_logarithm_where_the_range_is_one_of_factors() -> None:
    random = np.random.default_rng(4)
    draws = np.log2([drawn(constant(0.75, 1.5, 3.0), random) / 1.5 for _ in range(4000)])
    assert stats.kstest(draws, stats.triang(0.5, -1.0, 2.0).cdf).pvalue > 0.01
    assert np.median(draws) == pytest.approx(0.0, abs=0.03)  # as often above the typical value as below


def test_a_range_of_one_value_is_that_value() -> None:
    assert drawn(constant(2.0, 2.0, 2.0), np.random.default_rng(5)) == 2.0


def given(path: Path, replicate: int, **settings: str) -> dict[str, tuple[float, ...]]:
    """The drawn constants of the first layer of the greenhouse's first stage."""
    case = Draws(path, load_case(path, settings), 1)(replicate)
    layer = case.stages[0].layers[0]
    return {
        "coefficient": layer.filter_coefficients,
        "porosity": (layer.porosity,),
        "sphericity": (layer.sphericity,),
    }


def test_a_replicate_has_one_draw_within_every_range() -> None:
    case = load_case(GREENHOUSE)
    draws = Draws(GREENHOUSE, case, 1)
    assert draws(5) == draws(5)
    assert draws(5).stages != draws(6).stages
    assert draws(5).stages != Draws(GREENHOUSE, case, 2)(5).stages
    assert draws(5).policies == case.policies
    keys = {each.key for each in case.assumptions}
    assert len(keys) > 40
    assert not keys & {each.key for each in draws(5).assumptions}
    first = draws(5).stages[0].layers[0]
    ranges = {each.key.rpartition(".")[2]: each for each in reversed(case.assumptions)}
    for name in ("porosity", "sphericity", "ultimate_deposit", "head_loss_gain"):
        assert ranges[name].low <= getattr(first, name) <= ranges[name].high


def test_a_constant_that_is_given_leaves_the_other_draws_as_they_were(tmp_path: Path) -> None:
    text = GREENHOUSE.read_text(encoding="utf-8")
    path = tmp_path / "case.toml"
    path.write_text(text.replace('medium = "', 'porosity = 0.5\nmedium = "', 1), encoding="utf-8")
    before, after = given(GREENHOUSE, 7), given(path, 7)
    assert after.pop("porosity") == (0.5,)
    assert before.pop("porosity") != (0.5,)
    assert before == after


def test_every_policy_of_a_replicate_has_the_same_constants(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    text = small_text().replace("uniformity = 1.0\nsphericity = 0.8\nporosity = 0.42\n", "uniformity = 1.0\n")
    twin = text[text.index('[policy."two nights"') : text.index('[policy."by volume"')]
    path.write_text(text + twin.replace("two nights", "the same"), encoding="utf-8")
    case = load_case(path)
    found = repeat(case, Crew(Here, 1), replicates=5, draws=Draws(path, case, 1))
    pair, peak = found.pair("two nights", "the same", "peak_dp_kpa"), found.mean("two nights", "peak_dp_kpa")
    assert pair is not None
    assert peak is not None
    assert pair.difference == (0.0, 0.0, 0.0)
    assert peak.half is not None
    assert peak.half > 0.5  # kPa: the constants differ from run to run


def test_constants_that_never_fit_are_told(tmp_path: Path) -> None:
    """A deposit that the case gives, and that no assumed density leaves room for."""
    path = tmp_path / "case.toml"
    path.write_text(small_text(), encoding="utf-8")
    case = load_case(path)
    path.write_text(small_text(depth="9 m"), encoding="utf-8")
    with pytest.raises(StudyError, match="none of 100 draws"):
        Draws(path, case, 1)(0)
