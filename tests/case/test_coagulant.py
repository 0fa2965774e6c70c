"""Exact: what a case says of its coagulant, what it then takes, and what is refused."""

from dataclasses import replace
from pathlib import Path

import pytest

from hydraulics.media import DEFAULTS
from sim.case.load import load_case
from sim.case.records import Case
from sim.case.series.records import Coagulant
from sim.case.series.waters import WATERS
from sim.case.stage.clean_run import inflow_of, mean_feed
from tests.case.samples import MEDIUM, NAME, SMALL, added, changed, load_text, problems_of
from tests.case.test_assumptions import TRAIN, by_key
from tests.plant.builders import FILTER, feed

FEED = 'suspended_solids = "5 mg/L"'
ALUM = 'coagulant = { product = "alum", dose = "18 mg/L" }'
COLLECTOR = (MEDIUM, 'filter_coefficient = { particle_density = "1100 kg/m3" }')


def fed(folder: Path, coagulant: str, *more: tuple[str, str]) -> Case:
    return load_text(folder, added((FEED, f"coagulant = {coagulant}"), *more))


@pytest.mark.parametrize(
    ("product", "solids", "high"),
    [
        ("alum", 0.2625, 0.44),
        ("ferric chloride", 0.6588, 1.12),
        ("ferric sulfate", 0.5345, 0.91),
        ("aluminium", 2.891, 4.89),
        ("iron", 1.914, 3.24),
    ],
)
def test_a_dose_adds_the_solids_of_its_product(product: str, solids: float, high: float, tmp_path: Path) -> None:
    """By hand from molar masses; up to 70 % more with bound water, as 0.26 to 0.44 of alum."""
    case = fed(tmp_path, f'{{ product = "{product}", dose = "3 mg/L" }}')
    assert case.feed.coagulant is not None
    assert case.feed.coagulant.adds == pytest.approx(3.0 * solids, rel=2e-4)
    assert case.feed.coagulant.adds_per_solids == 0.0
    assumption = by_key(case)["feed.coagulant.solids"]
    assert (assumption.low, assumption.value) == pytest.approx((solids, solids), rel=2e-4)
    assert assumption.high == pytest.approx(high, abs=0.01)


def test_solids_that_are_given_are_not_assumed(tmp_path: Path) -> None:
    case = fed(tmp_path, '{ product = "iron", dose = "2 g/m3", solids = 2.5 }')
    assert case.feed.coagulant is not None
    assert case.feed.coagulant.adds == 5.0
    assert "feed.coagulant.solids" not in by_key(case)


def test_a_dose_that_follows_turbidity_follows_the_solids(tmp_path: Path) -> None:
    """By hand: 1.4 mg/L of alum for each NTU, which is 2 mg/L of solids, forms 1.4 x 0.31 / 2 g a gram."""
    told = '{ product = "alum", dose = "1.4 mg/L per NTU", solids = 0.31 }'
    ratio = 'solids_per_turbidity = "2 mg/L per NTU"'
    by_solids = fed(tmp_path, told, (FEED, ratio))
    turbid = changed((FEED, f'turbidity = "2.5 NTU"\n{ratio}\ncoagulant = {told}'))
    for case in (by_solids, load_text(tmp_path, turbid)):
        assert case.feed.coagulant is not None
        assert (case.feed.coagulant.adds, case.feed.coagulant.adds_per_solids) == (0.0, pytest.approx(0.217))
        assert mean_feed(case.feed) == (pytest.approx(5.0 * 0.217), 5.0)


def test_the_kind_of_water_tells_the_turbidity_of_its_solids(tmp_path: Path) -> None:
    case = fed(tmp_path, '{ product = "iron", dose = "0.6 mg/L per NTU", solids = 2.0 }', (FEED, 'water = "river"'))
    usual = WATERS["river"].solids_per_turbidity.value
    assert case.feed.coagulant is not None
    assert case.feed.coagulant.adds_per_solids == pytest.approx(1.2 / usual)
    assert "feed.solids_per_turbidity" in by_key(case)


@pytest.mark.parametrize(
    ("coagulant", "key", "given"),
    [
        ('{ product = "glue", dose = "3 mg/L" }', "product", '"glue"'),
        ('{ product = "alum", dose = "3 kg" }', "dose", '"3 kg"'),
        ('{ product = "alum", dose = "0 mg/L" }', "dose", '"0 mg/L"'),
        ('{ product = "alum", dose = "200 mg/L per NTU" }', "dose", '"200 mg/L per NTU"'),
        ('{ product = "alum", dose = 3 }', "dose", "3"),
        ('{ product = "alum", dose = "3 mg/L", solids = "0.3" }', "solids", '"0.3"'),
        ('{ product = "alum", dose = "3 mg/L", solids = 0.0 }', "solids", "0.0"),
        ('{ product = "alum" }', "dose", "nothing"),
        ('{ dose = "3 mg/L" }', "product", "nothing"),
        (
            '{ product = "alum", dose = "1.4 mg/L per NTU" }',
            "dose",
            "a dose that follows turbidity, with no feed.solids_per_turbidity",
        ),
    ],
)
def test_what_cannot_be_is_refused_once(coagulant: str, key: str, given: str, tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(added((FEED, f"coagulant = {coagulant}")), encoding="utf-8")
    (problem,) = problems_of(path)
    assert (problem.key, problem.given) == (f"feed.coagulant.{key}", given)
    assert problem.allowed
    assert problem.try_


def test_coagulated_where_coagulant_is_dosed_unless_the_stage_says_otherwise(tmp_path: Path) -> None:
    assert not load_text(tmp_path, SMALL).stages[0].coagulated
    told = load_text(tmp_path, added((FEED, ALUM)))
    assert told.stages[0].coagulated
    assert "stage.filter.coagulated" not in by_key(told)
    assert not load_text(tmp_path, added((FEED, ALUM), (NAME, "coagulated = false"))).stages[0].coagulated
    assert load_text(tmp_path, added((NAME, "coagulated = true"))).stages[0].coagulated


@pytest.mark.parametrize(
    ("name", "constant"), [("unfilterable", "unfilterable"), ("ripening.share", "ripening_share")]
)
def test_coagulated_water_has_constants_of_its_own(name: str, constant: str, tmp_path: Path) -> None:
    """Typical, from memory: share non-filterable 0.03 against 0.1, let through just after a wash 0.6 against 0.3."""
    typical = {"unfilterable": (0.1, 0.03), "ripening_share": (0.3, 0.6)}
    for text, coagulated in ((added((FEED, ALUM)), True), (SMALL, False)):
        usual = DEFAULTS[constant if coagulated else f"{constant}_untreated"]
        assumption = by_key(load_text(tmp_path, text))[f"stage.filter.{name}"]
        assert (assumption.low, assumption.value, assumption.high) == (usual.low, usual.value, usual.high)
        assert assumption.value == typical[constant][coagulated]


def test_ripening_takes_four_metres_of_either_water(tmp_path: Path) -> None:
    for text in (added((FEED, ALUM)), SMALL):
        ripening = load_text(tmp_path, text).stages[0].ripening
        assert ripening is not None
        assert ripening.volume == 4.0


def test_grains_collect_floc_where_water_is_coagulated(tmp_path: Path) -> None:
    """Floc of 10 um in place of the raw water's particles; a size that is given stays."""
    key = "stage.filter.layer.0.filter_coefficient.particle_size"
    river = (FEED, f'water = "river"\n{ALUM}')
    assert by_key(load_text(tmp_path, added(river, COLLECTOR)))[key].value == pytest.approx(10e-6)
    untreated = load_text(tmp_path, added(river, COLLECTOR, (NAME, "coagulated = false")))
    assert by_key(untreated)[key].value == WATERS["river"].particle_size.value
    assert by_key(load_text(tmp_path, added((FEED, ALUM), COLLECTOR)))[key].value == pytest.approx(10e-6)
    given = (MEDIUM, 'filter_coefficient = { particle_density = "1100 kg/m3", particle_size = "6 um" }')
    assert key not in by_key(load_text(tmp_path, added(river, given)))


def test_a_share_that_passes_never_grows_behind_coagulated_water(tmp_path: Path) -> None:
    """Assumed behind a stage with coagulated water it is lowered; given above it, it is refused."""
    first = TRAIN.replace(NAME, f"{NAME}\ncoagulated = true")
    assert [stage.unfilterable for stage in load_text(tmp_path, first).stages] == [0.03, 0.03]
    more = first.replace('name = "polisher"', 'name = "polisher"\nunfilterable = 0.08')
    path = tmp_path / "case.toml"
    path.write_text(more, encoding="utf-8")
    (problem,) = problems_of(path)
    assert (problem.key, problem.given) == ("stage.polisher.unfilterable", "0.08")
    assert "0.03" in problem.allowed
    dosed = more.replace("coagulated = true\n", "").replace(FEED, f"{FEED}\n{ALUM}")
    path.write_text(dosed, encoding="utf-8")
    assert [each.key for each in problems_of(path)] == ["stage.polisher.unfilterable"]


def test_a_dose_can_be_set_by_its_key(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(added((FEED, ALUM)), encoding="utf-8")
    case = load_case(path, {"feed.coagulant.dose": "36 mg/L"})
    usual = load_case(path)
    assert case.feed.coagulant is not None
    assert usual.feed.coagulant is not None
    assert case.feed.coagulant.adds == pytest.approx(2.0 * usual.feed.coagulant.adds)


@pytest.mark.parametrize("growth", ["linear", "pore-narrowing"])
def test_a_known_run_is_read_with_what_was_dosed(growth: str, tmp_path: Path) -> None:
    """With nothing non-filterable 3 mg/L and 2 mg/L of floc load the bed as 5 mg/L do, so both tell one constant."""
    stage = (
        NAME,
        f'unfilterable = 0.0\ncoagulated = true\nhead_loss = {{ growth = "{growth}" }}\n'
        'known_run = { flow = "5.5 m3/h", gain = "12 kPa", after = "20 h" }',
    )
    plain = load_text(tmp_path, added(stage))
    less = 'suspended_solids = "3 mg/L"\ncoagulant = { product = "iron", dose = "1 mg/L", solids = 2.0 }'
    dosed = load_text(tmp_path, added(stage).replace(FEED, less))
    assert dosed.solved
    assert [each.value for each in dosed.solved] == pytest.approx([each.value for each in plain.solved], rel=1e-9)


def test_what_reaches_a_bed_holds_the_floc_and_less_of_it_behind_the_first() -> None:
    """By hand: 5 mg/L of which 3 % pass every bed, and 2 mg/L of floc, of which none belongs to these."""
    stages = tuple(replace(FILTER, name=name, unfilterable=0.03) for name in ("first", "second"))
    given = replace(feed(5.0), coagulant=Coagulant(product="alum", adds=2.0, adds_per_solids=0.0))
    first, second = (inflow_of(stages, k, given, flow=1e-3, temperature=15.0) for k in (0, 1))
    assert first == pytest.approx((0.97 * 5.0 + 2.0, 0.15))
    bare = inflow_of(stages, 1, feed(5.0), flow=1e-3, temperature=15.0)
    assert second.fine == bare.fine == pytest.approx(0.15)
    assert second.filterable / bare.filterable == pytest.approx((0.97 * 5.0 + 2.0) / (0.97 * 5.0))
