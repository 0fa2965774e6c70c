"""Exact: ten numbers give, for every kind of water and train, a case that every way to start a wash can run."""

from dataclasses import replace
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.records import Case
from sim.case.units import DAY
from sim.case.waters import WATERS
from sim.plant.simulate import simulate
from sim.study.compare import compare
from tests.write.ten import TRAINS, made

DAYS = 30.0
WAYS = ["calendar", "volume", "volume with reserve", "pressure drop"]


def written(folder: Path, text: str) -> Case:
    path = folder / "new.toml"
    path.write_text(text, encoding="utf-8")
    return load_case(path)


def shorter(case: Case, days: float = DAYS) -> Case:
    return replace(case, run=replace(case.run, length=days * DAY))


@pytest.mark.parametrize("train", TRAINS)
@pytest.mark.parametrize("water", WATERS)
def test_ten_numbers_are_enough(water: str, train: str, tmp_path: Path) -> None:
    for coagulant in ("yes", "no"):
        new = made(water=water, train=train, coagulant=coagulant)
        case = written(tmp_path, new.text)
        assert case == new.case
        assert [stage.name for stage in case.stages] == train.split(",")
        assert [policy.name for policy in case.policies] == WAYS
        comparison = compare(shorter(case))
        assert [result.policy for result in comparison.results] == WAYS
        for result in comparison.results:
            assert result.site["treated_m3"]
            assert result.stages[case.stages[0].name]["washes"], result.policy  # within 30 days, all of them wash


def test_eight_answers_are_enough(tmp_path: Path) -> None:
    new = made(days=None, limit=None, depth=None, backwash=None)
    assert simulate(shorter(written(tmp_path, new.text)), "calendar").site["washes"]


@pytest.mark.parametrize(
    ("diameter", "flow", "turbidity"),
    [("5 cm", "1 L/h", "0.01 NTU"), ("5 cm", "98 L/h", "200 NTU"), ("20 m", "15000 m3/h", "400 mg/L")],
)
@pytest.mark.parametrize("hours", ["1", "24"])
@pytest.mark.parametrize("days", ["1", "7"])
def test_smallest_and_largest_answers_still_make_a_case(
    diameter: str, flow: str, turbidity: str, hours: str, days: str, tmp_path: Path
) -> None:
    new = made(
        diameter=diameter, flow=flow, turbidity=turbidity, hours=hours, days=days, limit=None, backwash=None,
        depth="3 m", temperature="0..50 degC", train="softener,carbon,oxidising,media",
    )  # fmt: skip
    case = shorter(written(tmp_path, new.text), 8.0)
    for policy in WAYS:
        simulate(case, policy)
