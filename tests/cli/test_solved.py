"""What a known run told is said by check, compare and run."""

import json
from pathlib import Path

import pytest

from tests.cli.small import call, small_text

KNOWN = 'known_run = { flow = "6 m3/h", gain = "9 kPa", after = "3 d" }'
SENTENCE = "sand: the known run (9 kPa more after 3 d at 6 m3/h) gives deposit_density = "


@pytest.fixture
def case(tmp_path: Path) -> Path:
    text = small_text().replace('deposit_density = "60 kg/m3"\n', "")
    path = tmp_path / "known.toml"
    path.write_text(text.replace('ripening = "none"', f'ripening = "none"\n{KNOWN}'), encoding="utf-8")
    return path


@pytest.mark.parametrize("words", [("check",), ("compare", "--all"), ("run", "--policy", "by volume", "--all")])
def test_every_command_says_what_was_solved(words: tuple[str, ...], case: Path) -> None:
    command, *rest = words
    done = call(command, case, *rest)
    assert done.exit_code == 0, done.stderr
    (line,) = [line for line in done.stdout.split("\n") if "the known run (" in line]
    assert line.startswith(SENTENCE)
    assert line.endswith(" kg/m3; usual: 20 to 60 kg/m3.")
    assert "layer.0.deposit_density" not in done.stdout  # solved, so not among what is assumed


def test_it_is_said_in_the_units_asked_for(case: Path) -> None:
    """By hand: 1 kg/m3 = 0.0624280 lb/ft3, so 20 to 60 kg/m3 are 1.25 to 3.75."""
    done = call("check", case, "--all", "--units", "us")
    assert " lb/ft3; usual: 1.25 to 3.75 lb/ft3." in done.stdout


def test_check_gives_it_as_json(case: Path) -> None:
    data = json.loads(call("check", case, "--json", "-").stdout)
    (solved,) = data["solved"]
    assert solved["key"] == "stage.sand.layer.0.deposit_density"
    assert solved["known"] == "9 kPa more after 3 d of flow at 6 m3/h"
    assert solved["unit"] == "g/m3"
    assert 1e3 < solved["value"] < 1e6
