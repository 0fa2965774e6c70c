"""What `filterrun check` shows and writes of its review, and its exit codes."""

import json
from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.review.review import review
from sim.tell.review.finding_json import finding_json
from sim.tell.review.finding_words import do_words, source_words, what_words
from sim.tell.sentences import caution, plant_cautions
from tests.case.whole_train import WHOLE
from tests.cli.small import call, small_text

CASES = Path(__file__).parents[2] / "cases"
KEYS = {"level", "stage", "what", "value", "low", "high", "unit", "source", "do"}


@pytest.fixture
def open_case(tmp_path: Path) -> Path:
    """A case in which nobody says how the drain ends."""
    path = tmp_path / "open.toml"
    path.write_text(small_text().replace("[drain]\nair_gap = true\n", ""), encoding="utf-8")
    return path


@pytest.fixture
def sound_case(tmp_path: Path) -> Path:
    path = tmp_path / "sound.toml"
    path.write_text(small_text(), encoding="utf-8")
    return path


def test_a_finding_that_says_stop_makes_the_exit_code(open_case: Path, sound_case: Path, tmp_path: Path) -> None:
    assert call("check", sound_case).exit_code == 0
    done = call("check", open_case, "--json", tmp_path / "check.json")
    assert done.exit_code == 1
    assert "site: The case does not say whether the drain ends above an air gap." in done.stdout
    levels = [each["level"] for each in json.loads((tmp_path / "check.json").read_text())["findings"]]
    assert levels.count("stop") == 1
    quiet = call("check", open_case, "--quiet")
    assert (quiet.exit_code, quiet.output) == (1, "")
    open_case.write_text("title = 1", encoding="utf-8")
    assert call("check", open_case).exit_code == 2


def test_json_holds_every_finding_in_si(open_case: Path) -> None:
    data = json.loads(call("check", open_case, "--json", "-", "--units", "us").stdout)
    assert set(data) == {
        "program", "version", "case", "case_hash", "assumed", "given_with_range", "solved", "remedies", "findings"
    }
    found = review(load_case(open_case))
    assert data["findings"] == [finding_json(finding) for finding in found]
    assert all(set(each) == KEYS for each in data["findings"])
    rate = next(each for each in data["findings"] if each["what"] == "backwash rate")
    # 24 m3/h through 0.9 m are 37.73 m/h.
    assert (rate["stage"], rate["unit"], rate["value"]) == ("sand", "m/s", pytest.approx(37.726 / 3600, rel=1e-4))


def test_the_summary_tells_vessels_and_the_unit(tmp_path: Path, sound_case: Path) -> None:
    path = tmp_path / "train.toml"
    path.write_text(WHOLE, encoding="utf-8")
    lines = [line.strip() for line in call("check", path, "--all").stdout.splitlines()]
    assert "stage sand: 2 vessels, in parallel; sand; wash: backwash and rinse" in lines
    assert "stage carbon: 2 vessels, one on duty, the others on standby; carbon; wash: backwash" in lines
    parts = "polyamide membrane, a unit that fills a tank between two levels and a cartridge ahead of it"
    assert f"downstream: {parts}" in lines
    plain = call("check", sound_case, "--all").stdout
    assert "stage sand: sand; wash: backwash and rinse" in plain
    assert "downstream:" not in plain


def test_the_screen_tells_the_worst_first_and_the_cautions_once(open_case: Path) -> None:
    text = call("check", open_case, "--all").stdout
    places = [text.index(f"\n{head}: ") for head in ("STOP", "LOOK", "FINE")]
    assert places == sorted(places)
    count = next(line for line in text.splitlines() if line.startswith("Design review: 1 stop, "))
    assert count.endswith("(water 11 °C; largest service flow 6 m3/h)")
    assert text.rstrip().endswith(count.partition(" (")[0])
    cautions = (*plant_cautions(), caution())
    for each in cautions:
        assert text.count(each) == 1
    for words in ("permit", "air gap", "backflow protection", "data sheets"):
        assert sum(words in each for each in cautions) == 1


def test_figures_are_shown_in_the_units_asked_for(sound_case: Path) -> None:
    """By hand: 37.73 m/h are 15.4 gpm/ft2; the band of 15 to 20 gpm/ft2 is 36.7 to 48.9 m/h."""
    metric, customary = (call("check", sound_case, "--all", "--units", units).stdout for units in ("si", "us"))
    row = next(line for line in metric.splitlines() if " backwash rate " in f"{line} " and "against" not in line)
    assert "37.7 m/h" in row
    assert "36.7 to 48.9 m/h" in row
    row = next(line for line in customary.splitlines() if " backwash rate " in f"{line} " and "against" not in line)
    assert "15.4 gpm/ft2" in row
    assert "15 to 20 gpm/ft2" in row
    assert " m/h" not in customary
    assert "(water 52 °F; largest service flow 26.4 gpm)" in customary


def test_every_finding_is_shown(sound_case: Path) -> None:
    text = call("check", sound_case, "--all").stdout
    for finding in review(load_case(sound_case)):
        assert what_words(finding) in text
        assert source_words(finding) in text
        assert (do_words(finding) or "") in text


@pytest.mark.parametrize("name", ["dye_works", "greenhouse", "parts_hall"])
def test_the_cases_that_come_along_have_nothing_to_stop_for(name: str) -> None:
    levels = [finding.level for finding in review(load_case(CASES / f"{name}.toml"))]
    assert "stop" not in levels
    assert levels.count("look") < levels.count("fine") / 2


def test_the_reference_case_leaves_its_drain_untold() -> None:
    stops = [each.name for each in review(load_case(CASES / "reference.toml")) if each.level == "stop"]
    assert stops == ["air_gap_unknown"]
