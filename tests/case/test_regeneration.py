"""Exact: what a stage says of doses, uptake, limits, stores and regenerants, what it then takes, what is refused."""

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from hydraulics.media import RESIN_TABLES, UPTAKE
from sim.case.chemistry.records import Carbon, Dosing, Limits, Oxidising, Resin, Store
from sim.case.load import load_case
from sim.case.records import Case
from sim.case.schema import json_schema
from sim.case.stage.records import CHEMICAL
from sim.study.many.assumed_settings import settings_of
from tests.case.samples import MEDIUM, NAME, SMALL, changed, load_text, problems_of
from tests.case.test_assumptions import by_key
from tests.case.test_schema import fits

FEED = 'suspended_solids = "5 mg/L"'
POLICY = "[policy.volume.filter]"
LAYER = "stage.filter.layer.0"
HARD = 'hardness = "200 mg/L"'
REGENERANT = '[[stage.step]]\ndo = "regenerant"\nminutes = 20\nflow = "0.5 m3/h"\n'
SALTED = REGENERANT + 'salt = "12 kg"\n'
REST = '[[stage.step]]\ndo = "displacement"\nminutes = 40\nflow = "0.5 m3/h"\n'
MAKE_UP = '[[stage.step]]\ndo = "make-up"\nminutes = 10\nflow = "1 m3/h"\n'
POUND_A_CUBIC_FOOT = 16.018463  # kg/m3
GRAIN_A_CUBIC_FOOT = 2.288352e-3  # kg/m3


def written(*, feed: str = "", stage: str = "", medium: str = "resin", layer: str = "", steps: str = "") -> str:
    """The small case with lines in feed and stage, a layer of another medium, and steps behind the backwash."""
    return changed(
        (FEED, f"{FEED}\n{feed}"), (NAME, f"{NAME}\n{stage}"), (MEDIUM, f'medium = "{medium}"\n{layer}'),
        (POLICY, f"{steps}{POLICY}"),
    )  # fmt: skip


def loaded(folder: Path, **told: str) -> Case:
    return load_text(folder, written(**told))


def uptake(case: Case) -> Any:
    return case.stages[0].layers[0].uptake


def assumed(case: Case) -> set[str]:
    names = {key.removeprefix("stage.filter.") for key in by_key(case)}
    return {name for name in names if name.rpartition(".")[2] in UPTAKE_KEYS or name.startswith(("oxidant", "store"))}


UPTAKE_KEYS = {
    "capacity", "capacity_factor", "half_length", "combined_half_length", "half_length_rate", "leakage", "fouling"
}  # fmt: skip


@pytest.mark.parametrize("medium", sorted(CHEMICAL))
def test_without_chemistry_a_bed_is_a_filter_of_solids_as_before(medium: str, tmp_path: Path) -> None:
    """Uptake, constants and book are those of a case that never heard of anything dissolved."""
    plain = loaded(tmp_path, medium=medium)
    assert (uptake(plain), assumed(plain)) == (None, set())
    stage = plain.stages[0]
    assert (stage.dosing, stage.limits, stage.store, stage.blend) == (None, Limits(), None, 0.0)
    other = loaded(tmp_path, medium=medium, feed='ammonia = "1 mg/L"\npH = 7.0')
    assert (other.stages, other.assumptions, other.constants) == (plain.stages, plain.assumptions, plain.constants)


def test_resin_takes_the_published_table_of_salt(tmp_path: Path) -> None:
    """6 lb/ft3 restore 20,000 gr/ft3, 15 restore 30,000: by hand 96.11 and 240.3 kg/m3, 45.77 and 68.65 kg/m3."""
    case = loaded(tmp_path, feed=HARD, steps=SALTED + REST)
    resin = uptake(case)
    assert isinstance(resin, Resin)
    assert resin.doses[0] == pytest.approx(6e3 * POUND_A_CUBIC_FOOT, rel=1e-6)
    assert resin.capacities[0] == pytest.approx(20e6 * GRAIN_A_CUBIC_FOOT, rel=1e-6)
    assert resin.capacities[-1] == pytest.approx(30e6 * GRAIN_A_CUBIC_FOOT, rel=1e-6)
    assert resin.leakage == UPTAKE["resin_leakage_co_current"].value
    assert resin.reference_rate == UPTAKE["uptake_reference_rate"].value
    assert assumed(case) == {"layer.0.capacity_factor", "layer.0.half_length", "layer.0.leakage"}
    assert RESIN_TABLES["co-current"].source in by_key(case)[f"{LAYER}.capacity_factor"].source
    steps = case.stages[0].steps
    assert [(step.do, step.salt, step.permanganate, step.direction) for step in steps] == [
        ("backwash", None, None, "co-current"), ("regenerant", 12_000.0, None, "co-current"),
        ("displacement", None, None, "co-current"),
    ]  # fmt: skip


def test_a_resin_that_is_told_assumes_nothing(tmp_path: Path) -> None:
    told = """capacity = { doses = ["100 kg/m3", "200 kg/m3"], gives = ["2 kgr/ft3", "66 kg/m3"] }
half_length = "4 cm"
half_length_rate = "15 m/h"
leakage = 0.02
fouling = 0.3"""
    told = told.replace("2 kgr/ft3", "20 kgr/ft3")
    case = loaded(tmp_path, feed=f'{HARD}\niron = "1 mg/L"', layer=told, steps=SALTED)
    assert uptake(case) == Resin(
        doses=(100e3, 200e3),
        capacities=(pytest.approx(20e6 * GRAIN_A_CUBIC_FOOT, rel=1e-6), 66e3),
        half_length=0.04,
        reference_rate=pytest.approx(15.0 / 3600.0),
        leakage=0.02,
        fouling=0.3,
    )
    assert assumed(case) == set()


def test_a_counter_current_regenerant_leaks_less(tmp_path: Path) -> None:
    case = loaded(tmp_path, feed=HARD, steps=SALTED + 'direction = "counter-current"\n')
    assert uptake(case).leakage == UPTAKE["resin_leakage_counter_current"].value
    assert case.stages[0].steps[1].direction == "counter-current"


def test_a_factor_moves_the_whole_table(tmp_path: Path) -> None:
    """As a range of the constant does, by its dotted key."""
    path = tmp_path / "case.toml"
    path.write_text(written(feed=HARD, steps=SALTED), encoding="utf-8")
    usual = uptake(load_case(path))
    less = uptake(load_case(path, {f"{LAYER}.capacity_factor": 0.85}))
    assert less == replace(usual, capacities=tuple(0.85 * each for each in usual.capacities))


@pytest.mark.parametrize(
    ("told", "constants"),
    [
        ({"feed": HARD}, {"layer.0.capacity_factor", "layer.0.half_length", "layer.0.leakage"}),
        (
            {"feed": HARD + '\nmanganese = "1 mg/L"'},
            {"layer.0.capacity_factor", "layer.0.half_length", "layer.0.leakage", "layer.0.fouling"},
        ),
        (
            {"feed": HARD, "layer": 'half_length = "3 cm"'},
            {"layer.0.capacity_factor", "layer.0.half_length_rate", "layer.0.leakage"},
        ),
        ({"feed": 'iron = "1 mg/L"', "medium": "oxidising media"}, {"layer.0.capacity", "layer.0.half_length"}),
        ({"feed": 'sulphide = "1 mg/L"', "medium": "oxidising media"}, {"layer.0.capacity", "layer.0.half_length"}),
        ({"feed": HARD, "medium": "oxidising media"}, set()),
        ({"feed": 'iron = "1 mg/L"', "medium": "resin"}, set()),
        ({"feed": 'free_chlorine = "1 mg/L"', "medium": "carbon"}, {"layer.0.capacity", "layer.0.half_length"}),
        (
            {"feed": 'combined_chlorine = "1 mg/L"', "medium": "carbon"},
            {"layer.0.capacity", "layer.0.half_length", "layer.0.combined_half_length"},
        ),
        (
            {"stage": 'oxidant = { product = "chlorine", dose = "1 mg/L" }', "medium": "carbon"},
            {"layer.0.capacity", "layer.0.half_length"},
        ),
        (
            {"feed": 'ammonia = "1 mg/L"', "stage": 'oxidant = { product = "chlorine", dose = "1 mg/L" }',
             "medium": "carbon"},
            {"layer.0.capacity", "layer.0.half_length", "layer.0.combined_half_length"},
        ),
        ({"stage": 'oxidant = "chlorine"', "medium": "carbon"}, set()),
        (
            {"feed": 'iron = "1 mg/L"', "stage": 'oxidant = { product = "chlorine", dose = "1 mg/L" }',
             "medium": "sand"},
            {"oxidant.unfilterable"},
        ),
        ({"stage": 'oxidant = { product = "chlorine", dose = "1 mg/L" }', "medium": "sand"}, set()),
        ({"feed": HARD, "medium": "sand", "steps": REGENERANT + MAKE_UP}, {"store.solubility", "store.dissolving"}),
        ({"feed": HARD, "medium": "sand", "steps": SALTED, "stage": 'store = { salt = "50 kg" }'}, set()),
    ],
)  # fmt: skip
def test_what_is_used_and_left_out_is_assumed(told: dict[str, str], constants: set[str], tmp_path: Path) -> None:
    case = loaded(tmp_path, **told)
    assert assumed(case) == constants
    assert (uptake(case) is not None) == any(name.startswith("layer") for name in constants)
    for each in case.assumptions:
        assert each.low <= each.value <= each.high


def test_oxidising_media_and_carbon(tmp_path: Path) -> None:
    oxidising = loaded(
        tmp_path, feed='iron = "2 mg/L"', medium="oxidising media",
        layer='capacity = "0.03 eq/L"\nhalf_length = "8 cm"\nsulphide_to = "sulphate"',
    )  # fmt: skip
    usual = UPTAKE["uptake_reference_rate"].value
    wanted = Oxidising(capacity=pytest.approx(30.0), half_length=0.08, reference_rate=usual, sulphide_to="sulphate")
    assert uptake(oxidising) == wanted
    carbon = loaded(
        tmp_path, feed='free_chlorine = "1 mg/L"\ncombined_chlorine = "1 mg/L"', medium="carbon",
        layer='capacity = "2500 kg/m3"\nhalf_length = "5 cm"\ngrowth = 0.3',
    )  # fmt: skip
    assert uptake(carbon) == Carbon(
        capacity=2.5e6, half_length=0.05, combined_half_length=0.5, reference_rate=usual, growth=0.3
    )
    combined = by_key(carbon)[f"{LAYER}.combined_half_length"]
    assert (combined.low, combined.value, combined.high, combined.unit) == (0.25, 0.5, 1.0, "m")
    assert uptake(loaded(tmp_path, feed='free_chlorine = "1 mg/L"', medium="carbon")).growth is None


WHOLE_TRAIN = written(
    feed=f'{HARD}\niron = "2 mg/L"\nmanganese = "1 mg/L"\nammonia = "0.3 mg/L"\npH = 7.4',
    stage="""oxidant = { product = "chlorine", dose = "2 mg/L", contact = "5 min" }
limits = { hardness = "1 gpg", chlorine = "0.1 mg/L" }
blend = 0.1
store = { salt = "200 kg", refilled = "30 d" }
vessels = { count = 2, arrangement = "alternating" }""",
    medium="carbon",
    layer="""depth = "0.4 m"
[[stage.layer]]
medium = "oxidising media"
depth = "0.3 m"
[[stage.layer]]
medium = "resin\"""",
    steps=REGENERANT + 'direction = "counter-current"\n' + REST + MAKE_UP,
)
"""A bed of all three kinds, dosed and regenerated."""


def test_every_constant_can_be_set_to_both_ends_of_its_range(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    case = load_text(tmp_path, WHOLE_TRAIN)
    assert len(assumed(case)) == 12
    for each in case.assumptions:
        if each.key.removeprefix("stage.filter.") in assumed(case):
            for end in (each.low, each.high):
                moved = load_case(path, settings_of(case, {each: end}))
                assert each.key not in by_key(moved)
                assert moved.stages != case.stages
                assert moved.constants == case.constants + (each.key.endswith(".half_length"))


def test_it_fits_the_schema_for_editors() -> None:
    schema = json_schema()
    assert fits(tomllib.loads(WHOLE_TRAIN), schema, schema)
    for wrong in (("count = 2", "count = 0"), ('"chlorine", dose', '"ozone", dose'), ("blend = 0.1", "blend = 1")):
        assert not fits(tomllib.loads(WHOLE_TRAIN.replace(*wrong)), schema, schema)


def test_what_one_stage_doses_reaches_the_carbon_behind_it(tmp_path: Path) -> None:
    second = SMALL[SMALL.index("[[stage]]") : SMALL.index("[policy")].replace("filter", "second")
    policies = '[policy.volume]\nsecond = { start_on = "volume", volume = "9 m3" }\n[policy.volume.filter]'
    train = SMALL.replace(POLICY, second.replace('"sand"', '"carbon"') + policies)
    assert load_text(tmp_path, train).stages[1].layers[0].uptake is None
    dosed = train.replace(NAME, f'{NAME}\noxidant = {{ product = "chlorine", dose = "1 mg/L" }}')
    first, last = load_text(tmp_path, dosed).stages
    assert isinstance(last.layers[0].uptake, Carbon)
    assert (first.oxidant, last.oxidant, last.dosing) == ("chlorine", None, None)


@pytest.mark.parametrize(
    ("oxidant", "feed", "word", "dosing"),
    [
        ('"permanganate"', "", "permanganate", None),
        (
            '{ product = "chlorine", dose = "2 mg/L", contact = "10 min", unfilterable = 0.1 }', "", "chlorine",
            Dosing(product="chlorine", dose=2.0, contact=600.0, unfilterable=0.1),
        ),
        (
            '{ product = "permanganate", dose = "900 ug/L", unfilterable = 0, sulphide_to = "sulphate" }', "",
            "permanganate", Dosing(product="permanganate", dose=0.9, unfilterable=0.0, sulphide_to="sulphate"),
        ),
        (
            '{ product = "air", contact = "20 min", unfilterable = 0.1 }', "pH = 7.1", None,
            Dosing(product="air", dose=0.0, contact=1200.0, unfilterable=0.1),
        ),
    ],
)  # fmt: skip
def test_what_is_dosed(oxidant: str, feed: str, word: str | None, dosing: Dosing | None, tmp_path: Path) -> None:
    stage = loaded(tmp_path, feed=feed, stage=f"oxidant = {oxidant}", medium="sand").stages[0]
    assert (stage.oxidant, stage.dosing) == (word, dosing)


def test_limits_blend_and_store(tmp_path: Path) -> None:
    told = """limits = { hardness = "1 gpg", iron = "0.3 mg/L", manganese = "50 ug/L", chlorine = "0 mg/L" }
blend = 0.25
store = { salt = "200 kg", permanganate = "2 kg", refilled = "30 d", solubility = "350 g/L", dissolving = "2 h" }"""
    feed = f'{HARD}\niron = "1 mg/L"\nmanganese = "1 mg/L"\nfree_chlorine = "1 mg/L"'
    case = loaded(tmp_path, feed=feed, stage=told, steps=REGENERANT + MAKE_UP)
    stage = case.stages[0]
    assert stage.limits == Limits(
        hardness=pytest.approx(17.11806, rel=1e-6), iron=0.3, manganese=pytest.approx(0.05), chlorine=0.0
    )
    assert stage.blend == 0.25
    assert stage.store == Store(
        salt=200e3, permanganate=2e3, refilled=30 * 86_400.0, solubility=350e3, dissolving=7200.0
    )
    assert [step.do for step in stage.steps] == ["backwash", "regenerant", "make-up"]


def test_a_dose_may_bring_what_a_limit_is_for(tmp_path: Path) -> None:
    oxidant = 'oxidant = { product = "permanganate", dose = "1 mg/L" }\n'
    limits = 'limits = { manganese = "50 ug/L", chlorine = "0 mg/L" }'
    assert loaded(tmp_path, stage=oxidant + limits, medium="sand").stages[0].limits.manganese is not None


def test_a_step_that_a_stage_does_not_need_is_taken(tmp_path: Path) -> None:
    """Brine on a plain filter, and no salt at all."""
    steps = REGENERANT + 'salt = "0 kg"\n' + REST
    assert loaded(tmp_path, medium="sand", steps=steps).stages[0].steps[1].salt == 0.0


def test_two_vessels_take_turns(tmp_path: Path) -> None:
    told = 'vessels = { count = 2, arrangement = "alternating" }'
    vessels = loaded(tmp_path, feed=HARD, stage=told, steps=SALTED).stages[0].vessels
    assert (vessels.count, vessels.arrangement, vessels.sharing) == (2, "alternating", 1)


TABLE = 'capacity = {{ doses = ["100 kg/m3", "200 kg/m3"], gives = ["{}", "{}"] }}'


@pytest.mark.parametrize(
    ("told", "key", "given"),
    [
        ({"layer": 'capacity = "30 eq/m3"'}, f"{LAYER}.capacity", "one value for resin"),
        (
            {"layer": TABLE.format("90 kg/m3", "95 kg/m3")}, f"{LAYER}.capacity.gives.0",
            "90 kg/m3 of hardness for 100 kg/m3 of salt",
        ),
        (
            {"layer": TABLE.format("30 kg/m3", "70 kg/m3")}, f"{LAYER}.capacity.gives.1",
            "70 kg/m3 for 200 kg/m3 of salt, more for each further gram of salt than before",
        ),
        ({"layer": TABLE.format("60 kg/m3", "50 kg/m3")}, f"{LAYER}.capacity.gives.1", "50 kg/m3 after 60 kg/m3"),
        (
            {"layer": TABLE.format("60 kg/m3", "70 kg/m3").replace("200", "100")}, f"{LAYER}.capacity.doses.1",
            "100 kg/m3 after 100 kg/m3",
        ),
        (
            {"layer": TABLE.format("60 kg/m3", "70 kg/m3").replace(', "200 kg/m3"', "")}, f"{LAYER}.capacity.gives",
            "2 of them for 1 doses",
        ),
        (
            {"layer": TABLE.format("60 kg/m3", "70 kg/m3") + "\ncapacity_factor = 1.1"}, f"{LAYER}.capacity_factor",
            "capacity_factor beside capacity",
        ),
        (
            {"layer": 'half_length_rate = "9 m/h"'}, f"{LAYER}.half_length_rate",
            "half_length_rate without half_length",
        ),
        ({"layer": "growth = 0.2"}, f"{LAYER}.growth", "growth for resin"),
        ({"layer": "leakage = 0.7"}, f"{LAYER}.leakage", "0.7"),
        ({"medium": "sand", "layer": "leakage = 0.02"}, f"{LAYER}.leakage", "leakage for sand"),
        ({"medium": "sand", "layer": 'capacity = "3 eq/m3"'}, f"{LAYER}.capacity", "capacity for sand"),
        (
            {"medium": "carbon", "layer": 'capacity = "3 eq/m3"'}, f"{LAYER}.capacity",
            "a capacity in equivalents",
        ),
        (
            {"medium": "oxidising media", "layer": 'capacity = "3 kg/m3"'}, f"{LAYER}.capacity",
            "a mass per volume of media",
        ),
        (
            {"medium": "carbon", "layer": TABLE.format("60 kg/m3", "70 kg/m3")}, f"{LAYER}.capacity",
            "a table of salt",
        ),
        ({"steps": REGENERANT}, "stage.filter.step.regenerant.salt", "nothing, with no make-up step"),
        (
            {"steps": MAKE_UP}, "stage.filter.step.make-up.do",
            "a make-up with no regenerant that draws from its brine tank",
        ),
        (
            {"steps": SALTED + MAKE_UP}, "stage.filter.step.make-up.do",
            "a make-up with no regenerant that draws from its brine tank",
        ),
        ({"steps": SALTED + 'permanganate = "1 kg"\n'}, "stage.filter.step.regenerant.permanganate",
         "permanganate beside salt"),
        ({"steps": REST + 'salt = "1 kg"\n'}, "stage.filter.step.displacement.salt", "salt for displacement"),
        ({"steps": REST + 'direction = "co-current"\n'}, "stage.filter.step.displacement.direction",
         "direction for displacement"),
        ({"steps": REST + "air = true\n"}, "stage.filter.step.displacement.air", "air for displacement"),
        ({"steps": SALTED + 'direction = "up"\n'}, "stage.filter.step.regenerant.direction", '"up"'),
        (
            {"steps": SALTED + 'direction = "co-current"\n' + SALTED + 'direction = "counter-current"\n'},
            "stage.filter.step.2.direction", '"counter-current" behind "co-current"',
        ),
        ({"steps": SALTED.replace('flow = "0.5 m3/h"\n', "")}, "stage.filter.step.regenerant.flow", "nothing"),
        ({"stage": 'store = { salt = "9 kg" }'}, "stage.filter.store", "a store without a regenerant"),
        (
            {"stage": 'store = { refilled = "9 d" }', "steps": SALTED}, "stage.filter.store.refilled",
            "refilled without salt or permanganate",
        ),
        (
            {"feed": 'iron = "1 mg/L"', "medium": "oxidising media",
             "stage": 'known_run = { flow = "3 m3/h", gain = "20 kPa", after = "3 d" }'},
            "stage.filter.known_run", "a known run, with deposit from what is dissolved",
        ),
        (
            {"feed": 'iron = "1 mg/L"', "medium": "sand",
             "stage": 'oxidant = { product = "chlorine", dose = "1 mg/L" }\n'
             'known_run = { flow = "3 m3/h", gain = "20 kPa", after = "3 d" }'},
            "stage.filter.known_run", "a known run, with deposit from what is dissolved",
        ),
        ({"stage": "blend = 0.95"}, "stage.filter.blend", "0.95"),
        (
            {"stage": 'limits = { chlorine = "0 mg/L" }'}, "stage.filter.limits.chlorine",
            "a limit of chlorine, with no feed.free_chlorine",
        ),
        ({"stage": 'limits = { iron = "1 mg/L" }'}, "stage.filter.limits.iron", "a limit of iron, with no feed.iron"),
        ({"stage": 'limits = { irn = "1 mg/L" }'}, "stage.filter.limits.irn", 'the unknown key "irn"'),
        ({"stage": 'oxidant = "clorine"'}, "stage.filter.oxidant", '"clorine"'),
        ({"stage": 'oxidant = { product = "ozone" }'}, "stage.filter.oxidant.product", '"ozone"'),
        ({"stage": 'oxidant = { product = "chlorine" }'}, "stage.filter.oxidant.dose", "nothing"),
        ({"stage": 'oxidant = { dose = "1 mg/L" }'}, "stage.filter.oxidant.product", "nothing"),
        (
            {"feed": "pH = 7.0", "stage": 'oxidant = { product = "air" }'}, "stage.filter.oxidant.contact",
            "nothing, with air",
        ),
        (
            {"stage": 'oxidant = { product = "air", contact = "9 min" }'}, "stage.filter.oxidant.product",
            '"air", with no feed.pH',
        ),
        (
            {"feed": "pH = 7.0", "stage": 'oxidant = { product = "air", contact = "9 min", dose = "1 mg/L" }'},
            "stage.filter.oxidant.dose", "a dose of air",
        ),
        (
            {"stage": 'vessels = { count = 3, arrangement = "alternating" }'}, "stage.filter.vessels.count",
            '3 with arrangement = "alternating"',
        ),
        (
            {"stage": 'vessels = { count = 1, arrangement = "alternating" }'}, "stage.filter.vessels.arrangement",
            "arrangement with one vessel",
        ),
        (
            {"stage": 'vessels = { count = 2, arrangement = "alternating", inhibit_while_sister_washes = true }'},
            "stage.filter.vessels.inhibit_while_sister_washes",
            'inhibit_while_sister_washes with arrangement = "alternating"',
        ),
    ],
)  # fmt: skip
def test_what_is_refused(told: dict[str, str], key: str, given: str, tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    feed = f"{HARD}\n{told.pop('feed', '')}"
    path.write_text(written(feed=feed, **told), encoding="utf-8")
    (problem,) = problems_of(path)
    assert (problem.key, problem.given) == (key, given)
    assert problem.allowed
    assert problem.try_
