"""Exact: `filterrun new FILE --from CASE` sets the triggers of a case by the rule and leaves all else as it is."""

import re
from pathlib import Path

import pytest

from sim.case.load import load_case, read_case
from sim.case.trigger.records import AnyOf, Calendar, Pressure, VolumeReserve
from sim.case.units import DAY
from sim.write.anew import set_anew
from tests.cli.small import call
from tests.write.ten import made

STEADY = {"hours": "24", "days": "7", "temperature": "12 degC", "turbidity": "4 NTU", "limit": "3 NTU"}
KNOWN = 'known_run = { flow = "25 gpm", gain = "5 psi", after = "2 d" }'
"""Much more than is assumed: the bed clogs sooner, so that its pressure drop ends the run."""


def known(text: str) -> str:
    return re.sub(r"^## known_run = .*$", KNOWN, text, flags=re.MULTILINE)


@pytest.mark.parametrize("changes", [{}, {"train": "media,media,carbon", "units": "us"}, {"limit": "0.1 NTU"}])
def test_a_new_case_is_set_already(changes: dict[str, str]) -> None:
    text = made(**changes).text
    found = set_anew(text, Path("new.toml"), None)
    assert found.text == text
    assert all(change.endswith(", as before") for change in found.changes)
    assert found.first == made(**changes).first


def test_a_known_run_moves_what_rests_on_it_and_nothing_else() -> None:
    text = known(made(**STEADY).text)
    found = set_anew(text, Path("new.toml"), None)
    before, after = text.split("\n"), found.text.split("\n")
    moved = [old for old, new in zip(before, after, strict=True) if old != new]
    assert {line.split(" = ")[0] for line in moved} <= {"every", "volume", "reserve", "above"}
    assert len(moved) >= 4
    old, new = (read_case(each, Path("new.toml"), {}) for each in (text, found.text))
    assert (new.stages, new.feed, new.demand) == (old.stages, old.feed, old.demand)
    calendars = [case.policies[0].triggers[0][1] for case in (old, new)]
    assert all(isinstance(each, Calendar) for each in calendars)
    assert calendars[1].every < calendars[0].every  # type: ignore[union-attr]
    told = "\n".join(found.changes)
    assert re.search(r"^calendar, media: every [0-9]+ d, now [0-9]+ d$", told, re.MULTILINE)
    assert re.search(r"^pressure drop, media: above [0-9.]+ kPa, now [0-9.]+ kPa$", told, re.MULTILINE)
    shares = [line for line in after if re.match("(every|volume) = .*# [0-9]+% of", line)]
    assert len(shares) == 2
    assert all("until its pressure drop has risen" in line for line in shares)


def test_a_person_keeps_comments_of_their_own_and_the_units_of_the_file() -> None:
    text = known(made(**STEADY).text)
    text = re.sub(r'^every = "\d+ d".*$', 'every = "48 h"  # agreed with the night shift', text, flags=re.MULTILINE)
    found = set_anew(text, Path("new.toml"), None).text
    (line,) = [line for line in found.split("\n") if line.startswith("every")]
    assert re.match(r'every = "[0-9]+ h"  # agreed with the night shift$', line)


def test_triggers_side_by_side_and_learned_reserves_are_set_too() -> None:
    any_of = (
        '[policy."both".media]\nany_of = [ { start_on = "calendar", every = "9 d", at = 20:00:00 },'
        ' { start_on = "pressure drop", above = "9 bar", hold = "3 min" } ]\n[policy."learned".media]\n'
        'start_on = "volume with learned reserve"\nvolume = "9 m3"\nreserve = "1 m3"\nat = 20:00:00\n'
    )
    new = read_case(set_anew(made(**STEADY).text + any_of, Path("new.toml"), None).text, Path("new.toml"), {})
    calendar, _, reserve, pressure = (policy.triggers[0][1] for policy in new.policies[:4])
    both, learned = (policy.triggers[0][1] for policy in new.policies[4:])
    assert isinstance(both, AnyOf)
    assert isinstance(calendar, Calendar)
    assert isinstance(pressure, Pressure)
    assert isinstance(reserve, VolumeReserve)
    assert [type(each) for each in both.triggers] == [Calendar, Pressure]
    assert both.triggers[0].every == calendar.every  # type: ignore[union-attr]
    assert both.triggers[1].above == pytest.approx(pressure.above, rel=5e-3)  # type: ignore[union-attr]
    assert learned.volume == reserve.volume  # type: ignore[union-attr]


def test_what_has_to_be_known_first_is_what_holds_now() -> None:
    """A longest run of 2 d, shorter than what the limit lets run, is what ends the runs then."""
    text = made(**STEADY).text.replace('longest_run = "10 d"', 'longest_run = "1 d"')
    assert not text.startswith("# First: ")
    found = set_anew(text, Path("new.toml"), None)
    assert found.text.startswith("# First: media: always washed by its longest run, 1 d")
    assert found.text.count("# First: ") == 1
    again = set_anew(found.text.replace('longest_run = "1 d"', 'longest_run = "10 d"'), Path("new.toml"), None)
    assert "# First: " not in again.text


def test_the_command_writes_a_new_file_and_says_old_and_new(tmp_path: Path) -> None:
    case, file = tmp_path / "plant.toml", tmp_path / "anew.toml"
    case.write_text(known(made(**STEADY).text), encoding="utf-8")
    done = call("new", file, "--from", case)
    assert done.exit_code == 0, done.stderr
    assert f"written: {file}" in done.stdout
    assert re.search(r"calendar, media: every \d+ d, now \d+ d", done.stdout)
    assert load_case(file).policies[0].triggers[0][1].every < 10 * DAY  # type: ignore[union-attr]
    assert call("new", file, "--from", case).exit_code == 2  # it exists
    assert call("new", file, "--from", case, "--force", "--quiet").stdout == ""
    refused = call("new", tmp_path / "other.toml", "--from", case, "--water", "river", "--units", "us")
    assert refused.exit_code == 2
    assert "leave out --water" in refused.stderr
    assert not (tmp_path / "other.toml").exists()


@pytest.mark.parametrize("name", ["reference", "parts_hall", "boiler_house", "laundry", "rope_walk", "greenhouse"])
def test_shipped_cases_can_be_set_anew(name: str) -> None:
    path = Path(__file__).parents[2] / "cases" / f"{name}.toml"
    found = set_anew(path.read_text(encoding="utf-8"), path, None)
    assert read_case(found.text, path, {}).stages == load_case(path).stages
    assert found.changes


def test_a_case_that_asks_for_no_water_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "still.toml"
    text = made(**STEADY).text
    still = re.sub(r'^flow = "25 gpm" .*around.*$', 'flow = "0 gpm"', text, flags=re.MULTILINE)
    path.write_text(still, encoding="utf-8")
    done = call("new", tmp_path / "anew.toml", "--from", path)
    assert done.exit_code == 2
    assert "asks for no water" in done.stderr
    assert not (tmp_path / "anew.toml").exists()
