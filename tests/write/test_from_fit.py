"""The new case of a fit: its values and ranges are those of the fit, all else is as it was, and it runs at once."""

import re
from pathlib import Path

import pytest

from sim.case.load import load_case, read_case
from sim.case.records import Case
from sim.fit.records import Constant
from sim.study.ranking import ends_of_ranges
from sim.write.from_fit import written_from
from tests.case.samples import MEDIUM, NAME, SMALL
from tests.fit.made_fit import FACTORS, made_fit
from tests.fit.plants import STAGE, draw
from tests.fit.test_forward import CARBON, RESIN

CASES = sorted(Path("cases").glob("*.toml"))
KNOWN = 'known_run = { flow = "5.5 m3/h", gain = "8 kPa", after = "2.5 d" }'


def again(text: str, path: Path, **more: object) -> tuple[Case, Case, str]:
    """The old case, the new one, its text."""
    case = read_case(text, path, {})
    made = written_from(text, path, path, made_fit(case, **more))  # type: ignore[arg-type]
    return case, read_case(made, path, {}), made


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_case_loads_with_what_was_told_and_nothing_else_changed(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    for stage in load_case(path).stages:
        case, new, made = again(text, path, stage=stage.name)
        given = {each.key for each in new.stated}
        assert len(new.assumptions) <= len(case.assumptions)
        assert given.isdisjoint(each.key for each in new.assumptions)
        for each in new.stated:
            assert each.low / each.value == pytest.approx(FACTORS[0] / FACTORS[1], rel=0.01)
            assert each.high / each.value == pytest.approx(FACTORS[2] / FACTORS[1], rel=0.01)
        (found,) = (each for each in new.stages if each.name == stage.name)
        valve = stage.head_loss.valve_constant
        assert found.head_loss.valve_constant == pytest.approx(FACTORS[1] * valve, rel=1e-3)
        assert found.head_loss.viscous == pytest.approx(FACTORS[1] * stage.head_loss.viscous, rel=1e-3)
        for old, layer in zip(stage.layers, found.layers, strict=True):
            if stage.head_loss.growth == "linear" and max(old.filter_coefficients) > 0.0:
                assert layer.head_loss_gain == pytest.approx(FACTORS[1] * old.head_loss_gain, rel=1e-3)
            assert layer.filter_coefficients == pytest.approx(
                [FACTORS[1] * each for each in old.filter_coefficients], rel=1e-3
            )
        kept = [line for line in text.split("\n") if line and line not in made]
        names = "|".join(each.rpartition(".")[2] for each in given)
        assert all(re.search(rf"\b({names}|head_loss)\b", line) for line in kept), kept


def test_what_is_written_and_what_a_person_said_beside_it(tmp_path: Path) -> None:
    layer = f'{MEDIUM}\nhead_loss_gain = "4 Pa/m per g/m3"  # by Ida, in May'
    _, new, made = again(SMALL.replace(MEDIUM, layer), tmp_path / "case.toml", told={Constant.GROWTH})
    assert re.search(
        r'head_loss_gain = "4\.938 Pa/m per g/m3" +'
        r"# fitted: 3\.6 / 4\.938 / 6 Pa/m per g/m3, from log\.csv; by Ida, in May", made,
    )  # 1.2345 x 4 = 4.938
    (stated,) = new.stated
    assert (stated.low, stated.value, stated.high) == (3.6, 4.938, 6.0)
    ends = [settings for ranged, _, settings in ends_of_ranges(new) if ranged == (stated,)]
    assert [settings[stated.key] for settings in ends] == ["3.6 Pa/m per g/m3", "6.0 Pa/m per g/m3"]


def test_a_fit_of_the_new_case_takes_the_place_of_the_first(tmp_path: Path) -> None:
    _, first, made = again(SMALL, tmp_path / "case.toml", told={Constant.GROWTH})
    _, second, twice = again(made, tmp_path / "case.toml", told={Constant.GROWTH})
    assert len(second.stated) == len(first.stated) == twice.count("[[range]]") == twice.count("fitted:")
    assert second.stated[0].value == pytest.approx(FACTORS[1] * first.stated[0].value, rel=1e-3)


def test_another_law_of_growth_comes_with_its_constant(tmp_path: Path) -> None:
    old, new, _ = again(SMALL, tmp_path / "case.toml", law="pore-narrowing", told={Constant.GROWTH})
    assert old.stages[0].head_loss.growth == "linear"
    assert new.stages[0].head_loss.growth == "pore-narrowing"
    assert [each.key for each in new.stated] == ["stage.filter.layer.0.deposit_density"]


def test_a_known_run_gives_way_to_a_log(tmp_path: Path) -> None:
    text = SMALL.replace(NAME, f"{NAME}\n{KNOWN}")
    old, new, made = again(text, tmp_path / "case.toml", told={Constant.GROWTH})
    assert old.solved
    assert not new.solved
    assert "known_run" not in made
    gain = new.stages[0].layers[0].head_loss_gain
    assert gain == pytest.approx(FACTORS[1] * old.stages[0].layers[0].head_loss_gain, rel=1e-3)
    _, kept, _ = again(text, tmp_path / "case.toml", told={Constant.VALVE})
    assert kept.solved


def test_carbon_has_no_range_of_what_its_water_does_not_bring(tmp_path: Path) -> None:
    """Free chlorine alone: the half-length of combined chlorine is none of its run."""
    _, new, _ = again(draw(CARBON, tmp_path).text, tmp_path / "case.toml", told={Constant.HALF_LENGTH})
    assert [each.key for each in new.stated] == [f"stage.{STAGE}.layer.0.half_length"]


def test_a_capacity_that_was_given_without_a_range_is_written_anew(tmp_path: Path) -> None:
    layer = 'medium = "resin"'
    text = draw(RESIN, tmp_path).text.replace(layer, f"{layer}\ncapacity_factor = 0.8")
    _, new, made = again(text, tmp_path / "case.toml", told={Constant.SOFTENER_CAPACITY})
    assert re.search(r"capacity_factor = 0\.9876 +# fitted", made)  # 1.2345 x 0.8
    assert [each.value for each in new.stated] == [0.9876]


def test_what_is_not_identifiable_stays(tmp_path: Path) -> None:
    old, new, made = again(SMALL, tmp_path / "case.toml", told=set())
    assert new.assumptions == old.assumptions
    assert made == SMALL


def test_a_first_case_has_its_lines_in_effect_where_they_are(tmp_path: Path) -> None:
    text = SMALL.replace(MEDIUM, f'{MEDIUM}\n# head_loss_gain = "5 Pa/m per g/m3"  # assumed: 1.5 / 5 / 10, usual')
    _, _, made = again(text, tmp_path / "case.toml", told={Constant.GROWTH})
    assert "assumed:" not in made
    assert made.split("\n")[text.split("\n").index(MEDIUM) + 1].startswith("head_loss_gain = ")
