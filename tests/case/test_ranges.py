"""A range that a case states for a constant: read as its key, tried at both ends, wrong ones refused."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Case
from sim.errors import CaseError
from sim.study.many.draws import Draws
from sim.study.ranking import ends_of_ranges
from tests.case.samples import MEDIUM, NAME, SMALL, load_text

GAIN = "stage.filter.layer.0.head_loss_gain"


def text_with(ranges: str, layer: str = 'head_loss_gain = "3 Pa/m per g/m3"', stage: str = "") -> str:
    return SMALL.replace(MEDIUM, f"{MEDIUM}\n{layer}").replace(NAME, f"{NAME}\n{stage}") + ranges


def range_of(key: str, low: str, high: str) -> str:
    return f'\n[[range]]\nof = "{key}"\nlow = {low}\nhigh = {high}\n'


def loaded(folder: Path, ranges: str, **more: str) -> Case:
    return load_text(folder, text_with(ranges, **more))


def test_a_given_constant_gets_the_range_of_the_case(tmp_path: Path) -> None:
    case = loaded(tmp_path, range_of(GAIN, '"2.5 Pa/m per g/m3"', '"4 kPa/m per kg/m3"'))
    (stated,) = case.stated
    assert (stated.key, stated.value, stated.low, stated.high) == (GAIN, 3.0, 2.5, 4.0)
    assert case.ranged == (*case.assumptions, stated)
    assert all(each.key != GAIN for each in case.assumptions)
    plain = loaded(tmp_path, "")
    assert (case.stages, case.constants) == (plain.stages, plain.constants)


def test_its_ends_are_tried_and_drawn_as_those_of_what_is_assumed(tmp_path: Path) -> None:
    case = loaded(tmp_path, range_of(GAIN, '"2.5 Pa/m per g/m3"', '"4 Pa/m per g/m3"'))
    path = tmp_path / "case.toml"
    path.write_text(text_with(range_of(GAIN, '"2.5 Pa/m per g/m3"', '"4 Pa/m per g/m3"')), encoding="utf-8")
    alone = {end: settings for assumed, end, settings in ends_of_ranges(case) if [a.key for a in assumed] == [GAIN]}
    gains = [load_case(path, alone[end]).stages[0].layers[0].head_loss_gain for end in ("low", "high")]
    assert gains == [2.5, 4.0]
    together = [assumed for assumed, _, _ in ends_of_ranges(case) if len(assumed) > 1]
    assert together == [case.ranged, case.ranged]
    drawn = [Draws(path, case, 1)(replicate).stages[0].layers[0].head_loss_gain for replicate in range(8)]
    assert len(set(drawn)) == 8
    assert all(2.5 <= each <= 4.0 for each in drawn)


def test_the_loss_of_a_valve_keeps_its_flow(tmp_path: Path) -> None:
    valve = "stage.filter.head_loss.valve"
    given = 'head_loss = { valve = "4 kPa at 5 m3/h" }'
    ends = range_of(valve, '"3 kPa at 5 m3/h"', '"6 kPa at 5 m3/h"')
    (stated,) = loaded(tmp_path, ends, stage=given).stated
    assert (stated.low / stated.value, stated.high / stated.value) == pytest.approx((0.75, 1.5))


@pytest.mark.parametrize(
    ("ranges", "said"),
    [
        (range_of(GAIN, '"4 kPa"', '"4 Pa/m per g/m3"'), ".low"),
        (range_of(GAIN, '"1 Pa/m per g/m3"', '"9000 Pa/m per g/m3"'), ".high"),
        (range_of(GAIN, '"4 Pa/m per g/m3"', '"5 Pa/m per g/m3"'), "from one to the other"),
        (range_of(GAIN, '"3 Pa/m per g/m3"', '"3 Pa/m per g/m3"'), "low below high"),
        (range_of("stage.filter.layer.7.porosity", "0.3", "0.4"), ".of"),
        (range_of("stage.filter.layer.0.porosity", "0.3", "0.4"), "the case gives"),
        (range_of("stage.filter.layer.0.depth", '"0.5 m"', '"0.9 m"'), "may also be assumed"),
        (range_of("stage.filter.layer.0.medium", '"sand"', '"carbon"'), "may also be assumed"),
        (range_of("title", '"a"', '"b"'), "may also be assumed"),
        (range_of("nothing.at.all", "1", "2"), "nothing.at.all"),
        (range_of(GAIN, "true", "2"), ".low"),
        (2 * range_of(GAIN, '"2.5 Pa/m per g/m3"', '"4 Pa/m per g/m3"'), "one range for a constant"),
    ],
)
def test_wrong_ranges_are_refused_where_they_stand(tmp_path: Path, ranges: str, said: str) -> None:
    with pytest.raises(CaseError, match="range") as refused:
        loaded(tmp_path, ranges)
    assert said in str(refused.value)


def test_a_setting_leaves_the_range_behind(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(text_with(range_of(GAIN, '"2.5 Pa/m per g/m3"', '"4 Pa/m per g/m3"')), encoding="utf-8")
    case = load_case(path, {"stage.filter.layer.sand.head_loss_gain": "9 Pa/m per g/m3"})
    assert case.stated == ()
    assert case.stages[0].layers[0].head_loss_gain == 9.0
