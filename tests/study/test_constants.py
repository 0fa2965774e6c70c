"""Assumed constants go by names that a person reads, and each of them is told."""

from dataclasses import replace
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.study.constants import assumed_names, constant_name, meaning

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.toml"))


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_every_assumed_constant_is_told_and_named_once(path: Path) -> None:
    case = load_case(path)
    keys = [each.key for each in case.assumptions]
    assert all(meaning(key) for key in keys), [key for key in keys if not meaning(key)]
    names = [constant_name(key, case.stages) for key in keys]
    assert len(set(names)) == len(names)
    assert not any("layer." in name for name in names)
    assert sum(len(own) for _, own in assumed_names(case)) <= len(keys)


def test_a_layer_goes_by_its_medium_and_by_its_place_where_the_bed_has_that_twice() -> None:
    (stage,) = load_case(CASES[[each.stem for each in CASES].index("reference")]).stages
    key = f"stage.{stage.name}.layer.1.porosity"
    assert constant_name(key, [stage]) == f"{stage.name}, sand: porosity"
    twice = replace(stage, layers=(stage.layers[1], stage.layers[1]))
    assert constant_name(key, [twice]) == f"{stage.name}, sand (layer 2): porosity"
    assert constant_name("supply.pipe.roughness", [stage]) == "supply.pipe.roughness"
