"""Assumed constants go by names that a person reads, and each of them is told."""

from dataclasses import replace
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.tell.listing import assumed_listing
from sim.tell.present import constant
from sim.tell.review.constant_names import assumed_names, constant_name, meaning
from sim.tell.workbook import assumed_rows
from tests.case.samples import changed, load_text

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
    assert constant_name(key, [twice]) == f"{stage.name}, sand (2): porosity"
    assert constant_name("supply.pipe.roughness", [stage]) == "supply.pipe.roughness"


def test_choices_come_by_their_names_and_the_rest_in_the_units_of_the_reader(tmp_path: Path) -> None:
    """By hand: 5 Pa/m per g/m3 are 5 x 0.3048 m / 6894.76 Pa x 16018.5 g/m3 = 3.54 psi/ft per lb/ft3."""
    case = load_text(tmp_path, changed(("vessel = {", 'head_loss = { growth = "linear" }\nvessel = {')))
    told = {each.key.rpartition(".")[2]: constant(each, "us") for each in case.assumptions}
    assert told["law"] == ("-", "ergun", "ergun", "carman-kozeny")
    assert told["coagulated"] == ("-", "false", "false", "true")
    assert told["head_loss_gain"][:2] == ("psi/ft per lb/ft3", "3.54")
    (loss,) = [each for each in case.assumptions if each.key.endswith("valve")]
    assert told["valve"][0] == "psi"
    assert [float(each) for each in told["valve"][1:]] == pytest.approx(
        [each / 6894.757 for each in (loss.value, loss.low, loss.high)], rel=5e-3
    )
    assert constant(loss, "si")[0] == "kPa"
    shown = {row[0]: row[2:5] for row in assumed_listing(case, "us").rows}
    assert shown["filter: head_loss.law"] == ("ergun", "ergun", "carman-kozeny")
    assert "ergun" in set(assumed_rows(case, "us")["typical, used"])
