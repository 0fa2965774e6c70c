"""Exact: what a feed brings dissolved, in every shape of a series, and what is refused of it."""

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from hydraulics.oxidation import HIGHEST_PH
from sim.case.chemistry.records import IN_FEED
from sim.case.series.records import Changeable, Measured, Profile, Seasonal, Steady
from sim.weather import Forcing, build_forcing
from tests.case.samples import SMALL, added, load_text, problems_of

FEED = 'suspended_solids = "5 mg/L"'
EVERY = """hardness = "15 gpg"
iron = "2 mg/L"
manganese = "300 ug/L"
sulphide = "0.5 mg/L"
ammonia = "0.4 mg/L"
free_chlorine = "0.1 mg/L"
combined_chlorine = "1 mg/L"
pH = 7.2"""
GRAIN_A_GALLON = 17.11806
"""mg/L as CaCO3 in a grain a US gallon: 64.79891 mg over 3.785411784 L."""


def fed(*lines: str) -> str:
    return added((FEED, "\n".join(lines)))


def forced(folder: Path, *lines: str) -> Forcing:
    case = load_text(folder, fed(*lines))
    return build_forcing(case.run, case.feed, case.demand)


def test_what_is_given_is_kept_in_order_and_nothing_else(tmp_path: Path) -> None:
    given = load_text(tmp_path, fed(*reversed(EVERY.splitlines()))).feed
    assert tuple(solute for solute, _ in given.solutes) == IN_FEED
    assert given.acidity == Steady(value=7.2)
    solutes = dict(given.solutes)
    assert solutes["iron"] == Steady(value=2.0)
    assert isinstance(solutes["hardness"], Steady)
    assert solutes["hardness"].value == pytest.approx(15.0 * GRAIN_A_GALLON, rel=1e-6)
    plain = load_text(tmp_path, SMALL).feed
    assert (plain.solutes, plain.acidity, plain.oxidant) == ((), None, None)


@pytest.mark.parametrize("key", [*IN_FEED, "pH"])
def test_every_shape_of_a_series_is_taken(key: str, tmp_path: Path) -> None:
    def value(number: float) -> str:
        return f"{number}" if key == "pH" else f'"{number} mg/L"'

    (tmp_path / "log.csv").write_text("time,it\n" + "".join(f"2027-01-04T{h:02}:00,{h % 5}\n" for h in range(24)))
    unit = "pH" if key == "pH" else "mg/L"
    shapes = {
        f"{{ hourly = [{', '.join([value(3.0)] * 24)}], weekday = [1, 1, 1, 1, 1, 1, 2] }}": Profile,
        f"{{ mean = {value(4.0)}, swing = {value(1.0)}, highest_on = 2027-07-01 }}": Seasonal,
        f'{{ median = {value(4.0)}, spread = 1.1, memory = "2 d" }}': Changeable,
        f'{{ file = "log.csv", column = "it", unit = "{unit}", zone = "UTC", scale = 1.5 }}': Measured,
    }
    for written, kind in shapes.items():
        text = fed(f"{key} = {written}").replace('"60 d"', '"1 d"')
        given = load_text(tmp_path, text).feed
        series = given.acidity if key == "pH" else dict(given.solutes).get(key)
        assert isinstance(series, kind)
        assert given.is_random == (kind is Changeable)


def test_total_metal_counts_the_dissolved_share_alone(tmp_path: Path) -> None:
    """Half of 4 mg/L swinging by 1; the rest of the manganese, 3 of 4 parts, stands among the solids."""
    iron = 'iron = { mean = "4 mg/L", swing = "1 mg/L", highest_on = 2027-07-01 }'
    manganese = 'manganese = "2 mg/L"\nmanganese_dissolved = 0.25'
    given = load_text(tmp_path, fed(iron, "iron_dissolved = 0.5", manganese))
    solutes = dict(given.feed.solutes)
    assert isinstance(solutes["iron"], Seasonal)
    assert (solutes["iron"].mean, solutes["iron"].swing) == (2.0, 0.5)
    assert solutes["manganese"] == Steady(value=0.5)
    assert given.feed.solids == Steady(value=5.0)


@pytest.mark.parametrize(
    ("chlorine", "oxidant"),
    [
        ('free_chlorine = "1 mg/L"', "chlorine"), ('combined_chlorine = "1 mg/L"', "chlorine"),
        ('free_chlorine = "0 mg/L"', None), ('free_chlorine = "0 mg/L"\noxidant = "none"', "none"),
        ('free_chlorine = "1 mg/L"\noxidant = "chlorine"', "chlorine"), ('iron = "1 mg/L"', None),
    ],
)  # fmt: skip
def test_chlorine_tells_the_oxidant(chlorine: str, oxidant: str | None, tmp_path: Path) -> None:
    assert load_text(tmp_path, fed(chlorine)).feed.oxidant == oxidant


@pytest.mark.parametrize(
    ("lines", "key", "given"),
    [
        ("iron_dissolved = 0.5", "feed.iron_dissolved", "a dissolved share without iron"),
        ('iron = "1 mg/L"\niron_dissolved = 1.5', "feed.iron_dissolved", "1.5"),
        ('pH = "7"', "feed.pH", '"7"'),
        ("pH = 15", "feed.pH", "15"),
        ("hardness = 250", "feed.hardness", "250"),
        ('hardness = "250 ppm"', "feed.hardness", '"250 ppm"'),
        ('hardnes = "250 mg/L"', "feed.hardnes", 'the unknown key "hardnes"'),
        ('free_chlorine = "1 mg/L"\noxidant = "none"', "feed.oxidant", '"none" beside free_chlorine'),
        (
            'combined_chlorine = "1 mg/L"\noxidant = "permanganate"', "feed.oxidant",
            '"permanganate" beside combined_chlorine',
        ),
        ('free_chlorine = "0 mg/L"\noxidant = "chlorine"', "feed.oxidant", '"chlorine" beside free_chlorine of 0'),
        (
            'iron = { mean = "1 mg/L", swing = "2 mg/L", highest_on = 2027-07-01 }', "feed.iron.swing",
            "a swing of 2 about a mean of 1",
        ),
        ('iron = { median = "1 mg/L", spread = 1.2 }', "feed.iron.memory", "nothing"),
        ('iron = { median = "1 mg/L", memory = "2 d" }', "feed.iron.spread", "nothing"),
        (
            'iron = { median = "1 mg/L", spread = 1.2, memory = "2 d", slow_spread = 1.3 }', "feed.iron.slow_memory",
            "nothing",
        ),
        (
            'iron = { median = "1 mg/L", spread = 1.2, memory = "2 d", storms = { per_year = 3, height = 2 } }',
            "feed.iron.storms.length", "nothing",
        ),
    ],
)  # fmt: skip
def test_what_is_refused(lines: str, key: str, given: str, tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(fed(*lines.splitlines()), encoding="utf-8")
    (problem,) = problems_of(path)
    assert (problem.key, problem.given) == (key, given)
    assert problem.allowed
    assert problem.try_


def test_a_misspelt_key_gets_the_nearest(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(fed('hardnes = "250 mg/L"'), encoding="utf-8")
    assert problems_of(path)[0].try_ == '"hardness", the nearest by name'


def test_the_weather_brings_what_is_given_on_the_same_rows(tmp_path: Path) -> None:
    hours = ", ".join(f'"{hour} mg/L"' for hour in range(24))
    made = forced(tmp_path, f"iron = {{ hourly = [{hours}] }}", 'hardness = "200 mg/L"', "pH = 7.5")
    assert list(made.solutes) == ["hardness", "iron"]
    assert made.acidity is not None
    assert made.solutes["iron"][:25].tolist() == [*range(24), 0]
    assert set(made.solutes["hardness"]) == {200.0}
    assert set(made.acidity) == {7.5}
    assert len(made.end) == len(made.acidity) == len(made.solutes["hardness"]) == 60 * 24
    for each in (made.acidity, *made.solutes.values()):
        assert not each.flags.writeable


def test_equal_rows_of_all_that_is_dissolved_are_one(tmp_path: Path) -> None:
    made = forced(tmp_path, *EVERY.splitlines())
    assert len(made.end) == 1
    assert [made.solutes[solute].tolist() for solute in ("iron", "ammonia")] == [[2.0], [0.4]]
    plain = forced(tmp_path)
    assert (dict(plain.solutes), plain.acidity) == ({}, None)


def test_random_acidity_stays_on_its_scale(tmp_path: Path) -> None:
    made = forced(tmp_path, 'pH = { median = 9.0, spread = 2.0, memory = "3 h" }')
    assert made.acidity is not None
    assert float(made.acidity.max()) == HIGHEST_PH > float(made.acidity.min()) > 0.0


def test_a_source_more_changes_nobodys_numbers(tmp_path: Path) -> None:
    """Random solids, hardness and pH each draw from a stream of their own."""
    solids = SMALL.replace('"5 mg/L"', '{ median = "5 mg/L", spread = 1.5, memory = "12 h" }')
    hardness = 'hardness = { median = "200 mg/L", spread = 1.2, memory = "3 d" }'
    acidity = 'pH = { median = 7.3, spread = 1.01, memory = "3 d" }'

    def made(*lines: str) -> Forcing:
        case = load_text(tmp_path, solids.replace("[demand]", "\n".join((*lines, "[demand]"))))
        return build_forcing(case.run, case.feed, case.demand, seed=5)

    alone, with_hardness, with_both = made(), made(hardness), made(acidity, hardness)
    for forcing in (with_hardness, with_both):
        assert np.array_equal(forcing.solids, alone.solids)
    assert np.array_equal(with_hardness.solutes["hardness"], with_both.solutes["hardness"])
    assert with_both.acidity is not None
    logs = [np.log(each) for each in (with_both.solids, with_both.solutes["hardness"], with_both.acidity)]
    assert all(abs(np.corrcoef(one, other)[0, 1]) < 0.5 for one, other in pairwise(logs))
    assert float(logs[2].std()) < math.log(1.03)
