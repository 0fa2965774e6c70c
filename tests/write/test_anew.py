"""Exact: `filterrun new FILE --from CASE` sets the triggers of a case by the rule and leaves all else as it is."""

import re
from pathlib import Path

import pytest

from sim.case.load import load_case, read_case
from sim.case.trigger.records import AnyOf, Calendar, Pressure, VolumeReserve
from sim.case.units import DAY
from sim.case.upgrade import upgraded
from sim.write.anew import set_anew
from tests.cli.small import call
from tests.write.ten import made

NEW = Path("new.toml")
STEADY = {"hours": "24", "days": "7", "temperature": "12 degC", "turbidity": "4 NTU", "limit": "3 NTU"}
KNOWN = 'known_run = { flow = "25 gpm", gain = "5 psi", after = "2 d" }'
"""Much more than is assumed: the bed clogs sooner, so that its pressure drop ends the run."""


def known(text: str) -> str:
    return re.sub(r"^## known_run = .*$", KNOWN, text, flags=re.MULTILINE)


@pytest.mark.parametrize("changes", [{}, {"train": "media,media,carbon", "units": "us"}, {"limit": "0.1 NTU"}])
def test_a_new_case_is_set_already(changes: dict[str, str]) -> None:
    text = made(**changes).text
    found = set_anew(text, NEW, NEW)
    assert found.text == text
    assert all(change.endswith(", as before") for change in found.changes)
    assert found.first == made(**changes).first


FAULTS = """
[[fault]] # seen by the night shift
what = "bed mudballed"
stage = "{stage}"
from = {start}
share = 0.2
"""


def test_what_fails_stays_and_moves_no_setting() -> None:
    """The rule sets triggers for a plant in order."""
    new = made(**STEADY)
    text = new.text + FAULTS.format(stage=new.case.stages[0].name, start=new.case.run.start.isoformat())
    assert read_case(text, NEW, {}).faults[0].share == 0.2
    assert set_anew(text, NEW, NEW).text == text
    older = text.replace("longest_run = ", "# longest_run = ", 1).replace("every = ", 'latest = "4 d"\nevery = ', 1)
    raised = upgraded(older, NEW)
    assert raised.changes
    assert raised.text.endswith(FAULTS.split("\n", 3)[1] + text.rpartition(FAULTS.split("\n", 3)[1])[2])


def test_a_known_run_moves_what_rests_on_it_and_nothing_else() -> None:
    text = known(made(**STEADY).text)
    found = set_anew(text, NEW, NEW)
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
    found = set_anew(text, NEW, NEW).text
    (line,) = [line for line in found.split("\n") if line.startswith("every")]
    assert re.match(r'every = "[0-9]+ h"  # agreed with the night shift$', line)


def test_triggers_side_by_side_and_learned_reserves_are_set_too() -> None:
    any_of = (
        '[policy."both".media]\nany_of = [ { start_on = "calendar", every = "9 d", at = 20:00:00 },'
        ' { start_on = "pressure drop", above = "9 bar", hold = "3 min" } ]\n[policy."learned".media]\n'
        'start_on = "volume with learned reserve"\nvolume = "9 m3"\nreserve = "1 m3"\nat = 20:00:00\n'
    )
    new = read_case(set_anew(made(**STEADY).text + any_of, NEW, NEW).text, Path("new.toml"), {})
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
    found = set_anew(text, NEW, NEW)
    assert found.text.startswith("# First: media: always washed by its longest run, 1 d")
    assert found.text.count("# First: ") == 1
    again = set_anew(found.text.replace('longest_run = "1 d"', 'longest_run = "10 d"'), NEW, NEW)
    assert "# First: " not in again.text


@pytest.mark.parametrize("train", ["media", "softener"])
@pytest.mark.parametrize("turbidity", ["0.02 NTU", "190 NTU"])
def test_a_first_line_of_a_person_stays(train: str, turbidity: str) -> None:
    """Those of the rule go, which say that there is nothing to choose or that a way comes too late."""
    own = "# First: ask the night shift before anything is washed\n"
    new = made(train=train, coagulant="no", **{**STEADY, "turbidity": turbidity, "limit": None})
    assert new.first
    text = set_anew(own + new.text, NEW, NEW).text
    head = text.split("\n")[: len(new.first) + 1]
    assert head == [*(f"# First: {line}" for line in new.first), own.strip()]
    assert text.count("# First: ") == len(head)


@pytest.mark.parametrize("start", ["", "\ufeff"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_byte_order_mark_and_line_ends_stay(start: str, end: str, tmp_path: Path) -> None:
    case, file = tmp_path / "plant.toml", tmp_path / "anew.toml"
    case.write_bytes((start + known(made(**STEADY).text).replace("\n", end)).encode("utf-8"))
    assert call("new", file, "--from", case, "--quiet").exit_code == 0
    text = file.read_bytes().decode("utf-8")
    assert text.startswith("\ufeff") == bool(start)
    assert text.count("\r") == (text.count("\n") if end == "\r\n" else 0)


@pytest.mark.parametrize("folder", ["", "elsewhere", "above/below"])
def test_a_series_in_a_file_is_found_from_another_folder(folder: str, tmp_path: Path) -> None:
    hours = "\n".join(f"2027-03-{1 + k // 24:02d} {k % 24:02d}:00,{4 + k % 3}" for k in range(24 * 12))
    (tmp_path / "sets").mkdir()
    (tmp_path / "sets" / "water.csv").write_text(f"time,seen\n{hours}\n", encoding="utf-8")
    series = 'turbidity = { file = "sets/water.csv", column = "seen", unit = "NTU", zone = "UTC" }  # from the desk'
    text = made(**STEADY).text.replace('length = "365 d"', 'length = "9 d"')
    text = re.sub(r"^turbidity = .*$", series, text, flags=re.MULTILINE)
    (tmp_path / "plant.toml").write_text(text, encoding="utf-8")
    (tmp_path / folder).mkdir(parents=True, exist_ok=True)
    file = tmp_path / folder / "anew.toml"
    done = call("new", file, "--from", tmp_path / "plant.toml")
    assert done.exit_code == 0, done.stderr
    assert load_case(file).feed.solids == load_case(tmp_path / "plant.toml").feed.solids
    there = "../" * folder.count("/") + "../sets/water.csv" if folder else "sets/water.csv"
    assert f'file = "{there}"' in file.read_text(encoding="utf-8")
    assert "# from the desk" in file.read_text(encoding="utf-8")
    assert (f"file sets/water.csv, now {there}" in " ".join(done.stdout.split())) == bool(folder)


def test_random_weather_is_said_to_be_taken_as_its_mean() -> None:
    text = made(**STEADY).text
    stormy = re.sub(r"^turbidity = .*\n# or  (turbidity.*?)  # in place.*$", r"\1", text, flags=re.MULTILINE)
    assert stormy != text
    assert "in a storm a bed fills sooner than the rule says" in set_anew(stormy, NEW, NEW).remarks[-1]
    assert not any("storm" in remark for remark in set_anew(text, NEW, NEW).remarks)


def test_no_run_grows_where_the_clean_bed_is_over_its_limit() -> None:
    """The rule then leaves the limit out, and would let the bed run on to its pressure drop or longest run."""
    text = made(coagulant="no", **{**STEADY, "limit": "0.3 NTU"}).text
    shorter = re.sub(r'^every = "\d+ d"', 'every = "1 d"', text, flags=re.MULTILINE)
    volume = r'(\[policy."volume".media\]\n.*\n)volume = ".*?"'
    shorter = re.sub(volume, r'\1volume = "2 m3"', shorter)
    found = set_anew(shorter, NEW, NEW)
    assert found.text == shorter
    kept = [change for change in found.changes if "kept, since its clean bed is over the limit already" in change]
    assert [change.split(",")[0] for change in kept] == ["calendar", "volume"]
    longer = re.sub(r'^every = "\d+ d"', 'every = "99 d"', text, flags=re.MULTILINE)
    assert set_anew(longer, NEW, NEW).text == text


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
    assert "leave out --water, --units" in refused.stderr
    assert not (tmp_path / "other.toml").exists()


@pytest.mark.parametrize("name", ["reference", "parts_hall", "boiler_house", "laundry", "rope_walk", "greenhouse"])
def test_shipped_cases_can_be_set_anew(name: str) -> None:
    path = Path(__file__).parents[2] / "cases" / f"{name}.toml"
    found = set_anew(path.read_text(encoding="utf-8"), path, path)
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
