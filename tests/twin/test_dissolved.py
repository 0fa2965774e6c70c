"""The twin of what is dissolved against closed solutions and hand arithmetic."""

from math import exp, log

import numpy as np
import pytest

from tests.twin.dissolved import (
    COMBINED,
    FLOC,
    FREE,
    HARDNESS,
    IRON,
    MANGANESE,
    NONE,
    PERMANGANATE,
    SALT,
    SPECIES,
    SULPHIDE,
    Bed,
    Medium,
    Tank,
    Treatment,
    TreatmentTrain,
    WashStep,
    dosed,
    ledger_error,
    run_dissolved,
)
from tests.twin.spec import HOUR, Floats, Trigger

RESIN = Medium(
    depth=0.8, porosity=0.42, kind="resin", capacity=50e3, half_length=0.04, reference_rate=0.005,
    doses=(100e3, 200e3), capacities=(40e3, 50e3),
)  # fmt: skip
MEDIA = Medium(depth=0.5, porosity=0.45, kind="oxidising", capacity=20.0, half_length=0.05, reference_rate=0.003)
CARBON = Medium(
    depth=0.6, porosity=0.5, kind="carbon", capacity=1e9, half_length=0.1, combined_half_length=0.6,
    reference_rate=0.004,
)  # fmt: skip
RATE = 0.0025  # m/s


def water(**grams: float) -> Floats:
    made = NONE.copy()
    for name, each in grams.items():
        made[SPECIES.index(name)] = each
    return made


def behind(bed: Bed, offered: Floats, ticks: int, tick: float = 20.0) -> Floats:
    """Of each tick's load, what leaves [share of its own species' load], a row a tick."""
    load = RATE * tick * offered
    out = np.array([bed.pass_on(load, RATE)[0] for _ in range(ticks)])
    return np.divide(out, load, out=np.zeros_like(out), where=load > 0.0)


def test_uptake_follows_its_closed_solution() -> None:
    """e^-a / (e^-a + e^-b - e^-(a+b)), Bohart and Adams; half a tick early as it looks at the start of each."""
    slow = Medium(**{**vars(RESIN), "half_length": 0.3})
    shares = behind(Bed(slow, 6), water(hardness=400.0), 4000)[:, HARDNESS]
    strength = log(2.0) / 0.3 * 0.005 / RATE
    a = strength * 0.8
    b = strength / 50e3 * RATE * 20.0 * 400.0 * (np.arange(4000) + 0.5)
    exact = np.exp(-a) / (np.exp(-a) + np.exp(-b) - np.exp(-a - b))
    assert shares == pytest.approx(exact, abs=4e-3)


def test_how_many_cells_there_are_hardly_matters() -> None:
    few, many = (behind(Bed(RESIN, cells), water(hardness=400.0), 2500)[:, HARDNESS] for cells in (3, 30))
    assert few == pytest.approx(many, abs=2e-2)


def test_species_that_share_a_capacity_pass_together() -> None:
    bed = Bed(RESIN, 6)
    shares = behind(bed, water(hardness=300.0, iron=20.0, manganese=10.0), 2600)
    assert shares[:, IRON] == pytest.approx(shares[:, HARDNESS], rel=1e-9)
    assert shares[:, MANGANESE] == pytest.approx(shares[:, HARDNESS], rel=1e-9)
    taken = bed.taken.sum(axis=1)
    used = taken[HARDNESS] + 1.7922 * taken[IRON] + 1.8218 * taken[MANGANESE]  # g CaCO3 per g, atomic masses
    assert used == pytest.approx(bed.used.sum(), rel=1e-4)


def test_a_spent_bed_gives_up_what_its_salt_is_good_for_and_a_fresh_one_nothing() -> None:
    bed = Bed(RESIN, 6)
    behind(bed, water(hardness=400.0), 4000)
    left, spent = bed.regenerate(salt=0.8 * 100e3, purple=0.0)
    assert left[HARDNESS] == pytest.approx(0.8 * 40e3, rel=2e-3)
    assert spent[SALT] == pytest.approx(1.16784 * left[HARDNESS], rel=1e-4)  # g NaCl per g CaCO3, atomic masses
    assert left[SALT] == pytest.approx(0.8 * 100e3 - spent[SALT])
    more, _ = bed.regenerate(salt=0.8 * 100e3, purple=0.0)
    assert more[HARDNESS] == pytest.approx(0.8 * 10e3, rel=2e-2)
    none, spent = bed.regenerate(salt=0.8 * 100e3, purple=0.0)
    assert (none[HARDNESS], spent[SALT]) == (pytest.approx(0.0, abs=1e-6), pytest.approx(0.0, abs=1e-6))


def test_iron_fouls_for_good() -> None:
    bed = Bed(Medium(**{**vars(RESIN), "fouling": 0.5}), 6)
    behind(bed, water(iron=40.0), 500)
    took = float(bed.used.sum())
    bed.regenerate(salt=1e6, purple=0.0)
    assert bed.used.sum() == pytest.approx(0.5 * took)
    bed.regenerate(salt=1e6, purple=0.0)
    assert bed.used.sum() == pytest.approx(0.5 * took)


def test_carbon_halves_chlorine_in_its_half_lengths() -> None:
    out = behind(Bed(CARBON, 6), water(free_chlorine=2.0, combined_chlorine=1.0), 1)[0]
    assert out[FREE] == pytest.approx(2.0 ** -(0.6 / 0.1 * 0.004 / RATE))
    assert out[COMBINED] == pytest.approx(2.0 ** -(0.6 / 0.6 * 0.004 / RATE))


def test_media_spend_what_the_oxidant_lacks_and_get_back_what_it_has_over() -> None:
    """1 g Fe takes 0.6349 g Cl2, 1 g Mn 1.2907 (atomic masses)."""
    bed = Bed(MEDIA, 6)
    load = water(iron=3.0, manganese=1.0, free_chlorine=1.0)
    out, solids, _ = bed.pass_on(load, RATE)
    lack = 3.0 / 55.845 + 2.0 / 54.938 - 2.0 / 70.90
    left = out[IRON] / 55.845 + 2.0 * out[MANGANESE] / 54.938
    assert out[FREE] == 0.0
    assert bed.used.sum() == pytest.approx(lack - left)
    assert solids == pytest.approx(1.9136 * (3.0 - out[IRON]) + 1.5824 * (1.0 - out[MANGANESE]), rel=1e-4)
    before = bed.used.sum()
    out, _, _ = bed.pass_on(water(free_chlorine=0.5), RATE)
    assert before - bed.used.sum() == pytest.approx(0.5 * 2.0 / 70.90)
    assert out[FREE] == pytest.approx(0.0, abs=1e-12)
    out, _, _ = bed.pass_on(water(permanganate=50.0), RATE)
    assert bed.used.sum() == pytest.approx(0.0, abs=1e-12)
    assert 0.0 < out[PERMANGANATE] < 50.0


def dosed_stage(product: str, dose: float) -> Treatment:
    return Treatment(
        name="dosed", area=0.1, height=1.5, media=(MEDIA,), steps=(), trigger=Trigger(kind="never"), product=product,
        dose=dose, fine=0.1,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("product", "metal", "need"),
    [
        ("permanganate", "iron", 0.9433),
        ("permanganate", "manganese", 1.9177),
        ("permanganate", "sulphide", 3.091),
        ("chlorine", "iron", 0.6348),
        ("chlorine", "sulphide", 2.081),
    ],
)
def test_a_dose_converts_by_atomic_masses(product: str, metal: str, need: float) -> None:
    made = dosed(dosed_stage(product, 10.0), water(**{metal: 1.0}))
    oxidant = FREE if product == "chlorine" else PERMANGANATE
    assert made.water[SPECIES.index(metal)] == 0.0
    assert 10.0 - made.water[oxidant] == pytest.approx(need, rel=3e-4)


def test_chlorine_leaves_manganese_and_a_short_dose_takes_sulphide_first() -> None:
    made = dosed(dosed_stage("chlorine", 1.0), water(manganese=1.0, sulphide=0.4, iron=5.0))
    assert made.water[MANGANESE] == 1.0
    assert made.water[SULPHIDE] == made.water[FREE] == 0.0
    iron = (1.0 - 2.0807 * 0.4) / 0.6349
    assert made.water[IRON] == pytest.approx(5.0 - iron, rel=1e-3)
    assert made.floc == pytest.approx(0.9408 * 0.4 + 1.9136 * iron, rel=1e-3)
    assert made.water[FLOC] == pytest.approx(0.9 * made.floc)


def test_brine_gains_its_salt_as_the_lack_of_it_decays() -> None:
    stage = dosed_stage("chlorine", 0.0)
    tank = Tank(Treatment(**{**vars(stage), "solubility": 360e3, "dissolving": 2 * HOUR}))
    tank.fill(0.05)
    for _ in range(120):
        tank.dissolve(60.0)
    assert tank.draw() == pytest.approx(18e3 * (1.0 - exp(-1.0)))
    tank.dissolve(1e6)
    assert tank.draw() == 0.0


def test_two_vessels_in_turn_lose_nothing_and_keep_nobody_waiting() -> None:
    steps = (
        WashStep(do="backwash", seconds=300.0, flow=4.0 / HOUR, raw=True, cleaning_rate=0.01),
        WashStep(do="regenerant", seconds=1200.0, flow=0.3 / HOUR, salt=8e3),
        WashStep(do="displacement", seconds=1800.0, flow=0.5 / HOUR),
        WashStep(do="rinse", seconds=600.0, flow=2.0 / HOUR),
    )
    stage = Treatment(
        name="pair", area=0.12, height=1.5, media=(RESIN,), steps=steps, vessels=2, limits={"hardness": 20.0},
        trigger=Trigger(kind="volume", volume=6.0),
    )  # fmt: skip
    feed = np.tile(water(hardness=400.0), (48, 1))
    train = TreatmentTrain(stages=(stage,), length=48 * HOUR, flow=np.full(48, 0.9 / HOUR), feed=feed)
    result = run_dissolved(train, 60.0)
    assert ledger_error(result) < 1e-12
    assert result.site["washes"] == result.site["regenerations"] == 7
    assert result.site["unmet_m3"] == 0.0
    assert result.site["hardness_over_h"] == 0.0
    assert result.site["salt_kg"] == 56.0
    assert result.ledgers["pair"]["salt"]["to_service"] < 0.01 * 56.0
