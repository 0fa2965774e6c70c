"""Exact: what a case leaves out is named with its range, and only where the run uses it."""

from dataclasses import replace
from pathlib import Path

import pytest

from hydraulics import water
from hydraulics.media import CATALOGUE, DEFAULTS
from sim.case.records import Assumption, Case
from sim.plant.simulate import simulate
from tests.case.samples import BACKWASH, MEDIUM, NAME, SMALL, added, changed, load_text

SAND = CATALOGUE["sand"]
LAYER = "stage.filter.layer.0"


def by_key(case: Case) -> dict[str, Assumption]:
    return {assumption.key: assumption for assumption in case.assumptions}


def assumed(folder: Path, *lines_behind: tuple[str, str]) -> dict[str, Assumption]:
    return by_key(load_text(folder, added(*lines_behind)))


def short(keys: dict[str, Assumption]) -> set[str]:
    return {key.removeprefix("stage.filter.") for key in keys}


EVERYTHING = {
    "coagulated",
    "head_loss.law",
    "head_loss.growth",
    "head_loss.valve",
    "ripening.share",
    "ripening.volume",
    "unfilterable",
    "velocity_exponent",
    "viscosity_exponent",
    "size_exponent",
    "reference_rate",
    "tanks",
    "loose_rate",
    "firm_rate",
    "layer.0.size",
    "layer.0.uniformity",
    "layer.0.sphericity",
    "layer.0.porosity",
    "layer.0.grain_density",
    "layer.0.typical_coefficient",
    "layer.0.ultimate_deposit",
    "layer.0.head_loss_gain",
    "layer.0.firm_share",
}


def test_all_that_the_smallest_case_leaves_out(tmp_path: Path) -> None:
    case = load_text(tmp_path, SMALL)
    assert short(by_key(case)) == EVERYTHING
    assert len(case.assumptions) == len(EVERYTHING)


def test_an_assumption_carries_value_range_unit_and_source(tmp_path: Path) -> None:
    narrowing = 'head_loss = { growth = "pore-narrowing" }'
    assert assumed(tmp_path, (NAME, narrowing))[f"{LAYER}.deposit_density"] == Assumption(
        key=f"{LAYER}.deposit_density",
        value=30_000.0,
        low=20_000.0,
        high=60_000.0,
        unit="g/m3",
        source=DEFAULTS["deposit_density"].source,
    )


def test_every_assumption_lies_in_its_range(tmp_path: Path) -> None:
    for assumption in load_text(tmp_path, SMALL).assumptions:
        assert assumption.low <= assumption.value <= assumption.high, assumption.key
        assert assumption.source


@pytest.mark.parametrize(
    ("behind", "given", "no_longer"),
    [
        (NAME, "coagulated = false", {"coagulated"}),
        (NAME, 'ripening = "none"', {"ripening.share", "ripening.volume"}),
        (NAME, "ripening = { share = 0.3 }", {"ripening.share"}),
        (NAME, "unfilterable = 0.2", {"unfilterable"}),
        (NAME, "velocity_exponent = 0.3", {"velocity_exponent"}),
        (NAME, "velocity_exponent = 0", {"velocity_exponent", "viscosity_exponent", "reference_rate"}),
        (NAME, "viscosity_exponent = 0.3", {"viscosity_exponent"}),
        (NAME, "size_exponent = 1.2", {"size_exponent"}),
        (NAME, 'reference_rate = "10 m/h"', {"reference_rate"}),
        (NAME, "tanks = 3", {"tanks"}),
        (NAME, 'loose_rate = "1 1/min"', {"loose_rate"}),
        (NAME, 'firm_rate = "0.1 1/min"', {"firm_rate"}),
        (NAME, 'head_loss = { law = "ergun" }', {"head_loss.law"}),
        (NAME, 'head_loss = { growth = "linear" }', {"head_loss.growth"}),
        (NAME, 'head_loss = { valve = "10 kPa at 5 m3/h" }', {"head_loss.valve"}),
        (NAME, 'head_loss = { tap = "bed" }', {"head_loss.valve"}),
        (
            BACKWASH,
            'cleaning_rate = "0.8 1/min"',
            {"loose_rate", "firm_rate", "layer.0.firm_share", "layer.0.grain_density"},
        ),
        (MEDIUM, 'size = "0.5 mm"', {"layer.0.size"}),
        (MEDIUM, "uniformity = 1.5", {"layer.0.uniformity"}),
        (MEDIUM, "sphericity = 0.8", {"layer.0.sphericity"}),
        (MEDIUM, "porosity = 0.43", {"layer.0.porosity"}),
        (MEDIUM, 'typical_coefficient = "4 1/m"', {"layer.0.typical_coefficient"}),
        (MEDIUM, 'ultimate_deposit = "9 kg/m3"', {"layer.0.ultimate_deposit"}),
        (MEDIUM, "firm_share = 0.1", {"layer.0.firm_share"}),
        (MEDIUM, 'grain_density = "2650 kg/m3"', {"layer.0.grain_density"}),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_given_is_not_assumed(behind: str, given: str, no_longer: set[str], tmp_path: Path) -> None:
    assert short(assumed(tmp_path, (behind, given))) == EVERYTHING - no_longer


def test_constants_count_whether_given_or_assumed(tmp_path: Path) -> None:
    given = load_text(tmp_path, added((NAME, "tanks = 3"), (MEDIUM, "porosity = 0.43")))
    assert len(given.assumptions) == len(EVERYTHING) - 2
    assert given.constants == load_text(tmp_path, SMALL).constants == len(EVERYTHING)


@pytest.mark.parametrize(
    ("behind", "given", "besides", "no_longer"),
    [
        (
            NAME,
            'head_loss = { growth = "pore-narrowing" }',
            {"layer.0.deposit_density"},
            {"head_loss.growth", "layer.0.head_loss_gain"},
        ),
        (
            NAME,
            'head_loss = { growth = "pore-narrowing" }\nsloughing = {}',
            {"layer.0.deposit_density", "sloughing.exponent", "porosity_floor"},
            {"head_loss.growth", "layer.0.head_loss_gain"},
        ),
        (NAME, "sloughing = {}", {"sloughing.exponent"}, set()),
        (NAME, "mat = { share = 0.2 }", {"mat.resistance"}, set()),
        (
            MEDIUM,
            'filter_coefficient = { particle_size = "5 um", particle_density = "1100 kg/m3" }',
            {"layer.0.filter_coefficient.attachment", "layer.0.filter_coefficient.hamaker"},
            {"layer.0.typical_coefficient", "viscosity_exponent", "size_exponent"},
        ),
        (
            MEDIUM,
            'filter_coefficient = "4 1/m"',
            {"reference_temperature"},
            {"layer.0.typical_coefficient"},
        ),
        (
            MEDIUM,
            'filter_coefficient = "4 1/m"\nuniformity = 1.0',
            {"reference_temperature", "gain_size_exponent"},
            {"layer.0.typical_coefficient", "layer.0.uniformity", "size_exponent"},
        ),
        (MEDIUM, 'size = "0.8 mm"', {"gain_size_exponent"}, {"layer.0.size"}),
        (
            MEDIUM,
            'sieve = { opening = ["0.3 mm", "2 mm"], passing = [1, 99] }',
            {"gain_size_exponent"},
            {"layer.0.size", "layer.0.uniformity"},
        ),
    ],
    ids=[
        "pore-narrowing", "sloughing in narrowing pores", "sloughing", "mat", "single collector", "own capture",
        "own capture, equal grains", "grains of another size", "sieve",
    ],
)
def test_what_is_switched_on_brings_its_constants(
    behind: str, given: str, besides: set[str], no_longer: set[str], tmp_path: Path
) -> None:
    assert short(assumed(tmp_path, (behind, given))) == (EVERYTHING | besides) - no_longer


def test_linear_growth_with_a_gain_of_its_own_needs_the_conditions_it_holds_at(tmp_path: Path) -> None:
    linear = (NAME, 'head_loss = { growth = "linear" }\nvelocity_exponent = 0')
    without = short(assumed(tmp_path, linear))
    own = short(assumed(tmp_path, linear, (MEDIUM, 'head_loss_gain = "4 Pa/m per g/m3"')))
    assert own - without == {"reference_rate", "reference_temperature"}
    assert without - own == {"layer.0.head_loss_gain"}


def test_typical_gain_is_brought_to_the_reference_of_the_stage(tmp_path: Path) -> None:
    """The typical 5 Pa/m per g/m3 holds at 12 m/h and 15 degC; the law is linear in rate and viscosity."""
    given = 'head_loss = { growth = "linear" }\nreference_rate = "6 m/h"\nreference_temperature = "30 degC"'
    gain = assumed(tmp_path, (NAME, given))[f"{LAYER}.head_loss_gain"]
    factor = 0.5 * water.viscosity(30.0) / water.viscosity(15.0)
    assert (gain.low, gain.value, gain.high) == pytest.approx((1.5 * factor, 5.0 * factor, 10.0 * factor))


def test_whether_water_is_coagulated_matters_to_what_is_left_out_alone(tmp_path: Path) -> None:
    """Coefficient, non-filterable share and ripening share depend on it; a bed that captures nothing has none."""
    every = [(MEDIUM, 'filter_coefficient = "4 1/m"'), (NAME, "unfilterable = 0.2\nripening = { share = 0.3 }")]
    assert "stage.filter.coagulated" not in assumed(tmp_path, *every)
    for less in ("unfilterable = 0.2", "ripening = { share = 0.3 }"):
        assert "stage.filter.coagulated" in assumed(tmp_path, every[0], (NAME, less))
    assert "stage.filter.coagulated" not in assumed(tmp_path, (MEDIUM, 'filter_coefficient = "0 1/m"'))


def test_coagulant_decides_the_typical_capture(tmp_path: Path) -> None:
    untreated = assumed(tmp_path)
    assert untreated["stage.filter.coagulated"].value == 0.0
    assert untreated[f"{LAYER}.typical_coefficient"].value == SAND.filter_coefficient_untreated.value
    coagulated = assumed(tmp_path, (NAME, "coagulated = true"))
    assert coagulated[f"{LAYER}.typical_coefficient"].value == SAND.filter_coefficient.value
    collector = (MEDIUM, 'filter_coefficient = { particle_size = "5 um", particle_density = "1100 kg/m3" }')
    key = f"{LAYER}.filter_coefficient.attachment"
    assert assumed(tmp_path, collector)[key].value == DEFAULTS["attachment_untreated"].value
    with_coagulant = assumed(tmp_path, collector, (NAME, "coagulated = true"))
    assert with_coagulant[key].value == DEFAULTS["attachment"].value


def test_bed_that_retains_nothing_uses_no_constants_of_capture(tmp_path: Path) -> None:
    inert = short(assumed(tmp_path, (MEDIUM, 'filter_coefficient = "0 1/m"')))
    grains = {"layer.0.size", "layer.0.uniformity", "layer.0.sphericity", "layer.0.porosity"}
    assert inert == grains | {"head_loss.law", "head_loss.valve", "tanks"}


def test_assumed_ultimate_deposit_gives_way_to_the_pores(tmp_path: Path) -> None:
    """By hand: 0.9 x 30 kg/m3 x (0.35 - 0.05) = 8.1 kg/m3, less than the typical 9."""
    narrowing = (NAME, 'head_loss = { growth = "pore-narrowing" }')
    case = load_text(tmp_path, added(narrowing, (MEDIUM, "porosity = 0.35")))
    lowered = by_key(case)[f"{LAYER}.ultimate_deposit"]
    assert lowered.value == pytest.approx(8_100.0)
    assert lowered.low <= lowered.value <= lowered.high
    assert lowered.source == (
        f"{SAND.ultimate_deposit.source}; lowered to 0.9 of the deposit that the pores hold"
    )
    assert case.stages[0].layers[0].ultimate_deposit == lowered.value
    assert "stage.filter.porosity_floor" in by_key(case)


def test_linear_growth_leaves_the_pores_out_of_it(tmp_path: Path) -> None:
    linear = 'head_loss = { growth = "linear" }'
    case = load_text(tmp_path, added((NAME, linear), (MEDIUM, 'porosity = 0.35\nultimate_deposit = "12 kg/m3"')))
    assert case.stages[0].layers[0].ultimate_deposit == 12_000.0


TRAIN = SMALL.replace(
    "[policy.volume.filter]",
    SMALL[SMALL.index("[[stage]]") : SMALL.index("[policy")].replace("filter", "polisher")
    + '[policy.volume]\npolisher = { start_on = "volume", volume = "9 m3" }\n[policy.volume.filter]',
)


def test_assumed_unfilterable_share_never_grows_along_the_train(tmp_path: Path) -> None:
    case = load_text(tmp_path, TRAIN.replace(NAME, f"{NAME}\nunfilterable = 0.03"))
    assert [stage.unfilterable for stage in case.stages] == [0.03, 0.03]
    assumption = by_key(case)["stage.polisher.unfilterable"]
    assert assumption.low <= assumption.value == assumption.high == 0.03
    assert assumption.source.endswith("; lowered to that of the stage before")
    unchanged = by_key(load_text(tmp_path, TRAIN))["stage.polisher.unfilterable"]
    assert unchanged.source == DEFAULTS["unfilterable_untreated"].source  # as much as the stage before is not lowered


def test_typical_valve_loss_is_anchored_to_the_vessel(tmp_path: Path) -> None:
    """By hand: 15 kPa at 12 m/h through a bed of 30 in (0.4560 m2), which is 5.472 m3/h, whatever is asked of it."""
    area = 3.141592653589793 * 0.762**2 / 4.0
    for asked in ("0 m3/h", "4 m3/h", "8 m3/h"):
        case = load_text(tmp_path, changed(('flow = "5.5 m3/h"', f'flow = "{asked}"')))
        laws = case.stages[0].head_loss
        assert laws.valve_constant == pytest.approx(15_000.0 / (12.0 / 3600.0 * area) ** 2, rel=1e-12)
        assert not laws.valve_in_wash
    assumption = by_key(case)["stage.filter.head_loss.valve"]
    assert (assumption.low, assumption.value, assumption.high, assumption.unit) == (5e3, 15e3, 30e3, "Pa")
    assert assumption.source.startswith("at the typical reference rate through the bed in service")


def test_twice_the_flow_loses_four_times_as_much_in_the_valve(tmp_path: Path) -> None:
    """The peak of a bed that captures nothing less what its gauge shows below the valve: 4 and 8 m3/h."""
    inert = (MEDIUM, 'filter_coefficient = "0 1/m"')
    lost = []
    for asked in ("4 m3/h", "8 m3/h"):
        text = added(inert).replace('flow = "5.5 m3/h"', f'flow = "{asked}"')
        case = load_text(tmp_path, text)
        with_valve = simulate(case, "volume").site["peak_dp_kpa"] or 0.0
        (stage,) = case.stages
        bare = replace(stage, head_loss=replace(stage.head_loss, valve_constant=0.0))
        lost.append(with_valve - (simulate(replace(case, stages=(bare,)), "volume").site["peak_dp_kpa"] or 0.0))
    assert lost[0] > 5.0
    assert lost[1] / lost[0] == pytest.approx(4.0, rel=1e-9)
