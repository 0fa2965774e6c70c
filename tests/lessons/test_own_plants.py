"""Lessons on a plant of one's own: what they find there by hand, and where they do not apply."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.lessons.lesson import Lesson, Studied
from sim.lessons.names import lesson
from tests.lessons.figures import figures

ROOT = Path(__file__).parents[2]


def on(name: str, path: Path) -> Studied:
    case = load_case(path)
    found = lesson(name).own(case)
    assert isinstance(found, Lesson), found
    return found.study(load=lambda settings: load_case(path, settings))


def test_the_rinse_of_another_plant_by_hand() -> None:
    """The reference: 17 m3/h for 10 minutes, then the rinse at 9 m3/h."""
    found = on("rinse", ROOT / "cases" / "reference.toml")
    drained = [17.0 * 10 / 60 + 9.0 * minutes / 60 for minutes in (0, 3, 7, 11)]
    assert figures(found, "drain_m3_a_wash") == pytest.approx(drained)
    assert figures(found, "dirty_water_g_a_wash")[0] > 2.0 * figures(found, "dirty_water_g_a_wash")[2]
    told = found.told("si")
    assert told.wall.title.startswith("At this plant, without a rinse")
    assert told.foot.startswith("These are figures of a model of this plant.")
    assert "invented" not in " ".join(told.sentences)


def test_the_backwash_of_another_plant_by_hand() -> None:
    """The reference: 17 m3/h in a vessel of 30 in, so 37.3 m/h, and 0.55 of it."""
    found = on("warm-water", ROOT / "cases" / "reference.toml")
    assert figures(found, "backwash_m_h") == pytest.approx([37.28, 20.50] * 2, rel=1e-3)
    assert figures(found, "temperature_degc") == [5.0, 5.0, 28.0, 28.0]
    told = found.told("si")
    assert told.options == ("37.3 m/h at 5 °C", "20.5 m/h at 5 °C", "37.3 m/h at 28 °C", "20.5 m/h at 28 °C")


@pytest.mark.parametrize(("name", "case", "says"), [
    ("hold", "reference", "This lesson needs a pressure switch"),
    ("stagger", "reference", "This lesson compares the ways of its own plant"),
    ("stuck-meter", "reference", "This lesson has a meter fail at a plant of its own"),
])  # fmt: skip
def test_a_lesson_that_does_not_apply_says_so(name: str, case: str, says: str) -> None:
    found = lesson(name).own(load_case(ROOT / "cases" / f"{case}.toml"))
    assert isinstance(found, str)
    assert says in found


def test_a_lesson_on_its_own_case_is_the_lesson(held: Studied) -> None:
    for name in ("rinse", "hold", "warm-water"):
        found = lesson(name).own(load_case(lesson(name).path))
        assert isinstance(found, Lesson)
        if name != "warm-water":  # whose weaker backwash is a share of one's own
            assert [each.settings for each in found.ways] == [each.settings for each in lesson(name).ways]


def test_runs_by_the_clock_stay_as_long_and_the_lesson_says_why() -> None:
    found = on("warm-water", ROOT / "cases" / "laundry.toml")
    assert any(each.startswith("The clock or a meter starts the washes here") for each in found.told("si").sentences)
    at_pressure = on("warm-water", lesson("warm-water").path).told("si").sentences
    assert not any("The clock or a meter" in each for each in at_pressure)
