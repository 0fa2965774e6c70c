"""Exact: a case of before in today's keys, and what of its figures moves."""

from pathlib import Path

import pytest

from sim.case.load import load_case
from sim.case.trigger.records import Calendar, Pressure, Volume
from sim.case.upgrade import upgraded
from sim.errors import CaseError
from sim.study.errors import RequestError
from sim.study.upgrade import upgrade
from sim.tell.run.upgrade_words import meanings, upgrade_words
from tests.case.samples import NAME, SMALL, changed
from tests.cli.small import call

DAY = 86_400.0
USE = '[downstream]\nuse = "process"   # rinsing\n[[stage]]'
OLD = (
    changed((NAME, f"{NAME}    # the only one"), ("[[stage]]", USE))
    + """latest = "9 d"                # agreed with the shift
[policy.switch.filter]
start_on = "pressure drop"
latest = "100 h"              # it has failed before
above = "9 bar"
hold = "1 min"
[policy.gauge.filter]
start_on = "pressure drop"
above = "9 bar"
hold = "1 min"
latest = "216 h"              # the same
[policy.rarely.filter]
start_on = "calendar"
every = "20 d"
at = 02:00:00
[policy.often.filter]
start_on = "calendar"
every = "2 d"
at = 02:00:00
"""
)


@pytest.fixture
def old(tmp_path: Path) -> Path:
    path = tmp_path / "old.toml"
    path.write_text(OLD, encoding="utf-8")
    return path


def test_it_is_rewritten_with_its_comments(old: Path, tmp_path: Path) -> None:
    new = tmp_path / "new.toml"
    upgrade(old, new)
    text = new.read_text(encoding="utf-8")
    assert "latest" not in text
    assert "[downstream]" not in text
    for line in (
        'use = "process"   # rinsing', 'name = "filter"    # the only one',
        'longest_run = "9 d"                # agreed with the shift',
        'longest_run = "100 h"              # it has failed before', "# the same",
    ):  # fmt: skip
        assert line in text.split("\n"), line
    case = load_case(new)
    assert (case.use, case.downstream, case.stages[0].longest_run) == ("process", None, 9 * DAY)
    triggers = {each.name: each.triggers[0][1] for each in case.policies}
    assert triggers["volume"] == Volume(volume=250.0, at=None)
    assert triggers["switch"] == Pressure(above=9e5, hold=60.0, longest_run=100 * 3600.0)
    assert triggers["gauge"] == Pressure(above=9e5, hold=60.0)
    assert triggers["often"] == Calendar(every=2 * DAY, at=7200.0)


def test_figures_of_a_policy_that_obeys_it_now_are_told_before_and_after(old: Path, tmp_path: Path) -> None:
    """60 d: every 20 d at 02:00 are two washes; after nine days the last 02:00 is on day 8, then every 9 d: six."""
    found = upgrade(old, tmp_path / "new.toml")
    told = upgrade_words(found, "si")[len(found.changes) :]
    assert "“rarely”: washes: 2 before, 6 now" in told
    assert {each.partition(":")[0] for each in told[:-1]} == {"“rarely”"}
    assert told[-1] == "“often”: obeys the longest run now, and no figure changes."
    assert "ends at the last of its hours" in meanings(found)[0]


def test_a_use_alone_moves_no_figure(tmp_path: Path) -> None:
    old = tmp_path / "old.toml"
    old.write_text(SMALL.replace("[[stage]]", '[downstream]\nuse = "membrane"\nmembrane = "polyamide"\n[[stage]]'))
    found = upgrade(old, tmp_path / "new.toml")
    assert (found.obeying, meanings(found), found.case.use) == ((), (), "membrane")
    assert found.case.downstream is not None


def test_what_a_year_may_have_gets_its_name_of_today_and_keeps_its_comment(tmp_path: Path) -> None:
    old = tmp_path / "old.toml"
    old.write_text(SMALL.replace("[run]", '[run]\nallowed_breach = "24 h"  # agreed'))
    found = upgrade(old, tmp_path / "new.toml")
    assert found.case.run.allowed_over_limit == 24 * 3600.0
    assert 'allowed_over_limit = "24 h"  # agreed' in (tmp_path / "new.toml").read_text(encoding="utf-8")


def test_nothing_is_written_over_or_without_need_or_from_what_is_wrong(old: Path, tmp_path: Path) -> None:
    new, sound = tmp_path / "new.toml", tmp_path / "sound.toml"
    sound.write_text(SMALL, encoding="utf-8")
    with pytest.raises(RequestError, match="exists and is left as it is"):
        upgrade(old, sound)
    with pytest.raises(RequestError, match="no key of before"):
        upgrade(sound, new)
    for text in (OLD.replace('latest = "9 d"', 'latest = "soon"'), OLD.replace('"0.7 m"', '"0.7 psi"'), "title ="):
        old.write_text(text, encoding="utf-8")
        with pytest.raises(CaseError):
            upgrade(old, new)
    assert not new.exists()
    assert sound.read_text(encoding="utf-8") == SMALL


def test_the_command_tells_what_it_did_and_refuses_to_write_over(old: Path, tmp_path: Path) -> None:
    new = tmp_path / "new.toml"
    done = call("upgrade", old, new)
    told = " ".join(done.stdout.split())
    assert done.exit_code == 0
    assert "“rarely”: washes: 2 before, 6 now" in told
    assert "“often”: obeys the longest run now, and no figure changes." in told
    again = call("upgrade", old, new)
    assert (again.exit_code, again.stdout) == (2, "")
    assert "exists and is left as it is" in again.stderr


SHAPES = (
    "downstream = 3", "stage = 5", 'policy = "x"\n[[stage]]', "[[policy]]\n[[stage]]", "[[stage]]\n[policy.a.b]",
    'stage = [{ name = "b" }]\npolicy.a = 5', 'stage = [{ name = "b" }]\n[policy.a.b]\nlatest = true', "",
)  # fmt: skip


@pytest.mark.parametrize("text", SHAPES)
def test_what_has_the_shape_of_no_case_is_told_as_that_of_the_old_file(tmp_path: Path, text: str) -> None:
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    old.write_text(text, encoding="utf-8")
    with pytest.raises(CaseError) as caught:
        upgrade(old, new)
    assert all(problem.file == str(old) for problem in caught.value.problems)
    assert not new.exists()


def rewritten(folder: Path, text: str) -> str:
    """A text with keys of before, upgraded, and read as a case."""
    old, new = folder / "old.toml", folder / "new.toml"
    old.write_text(text, encoding="utf-8", newline="")
    upgrade(old, new)
    load_case(new)
    return new.read_bytes().decode("utf-8")


def test_a_trigger_on_one_line_gives_its_time_to_the_stage_on_a_line_of_its_own(tmp_path: Path) -> None:
    policy = '[policy.other]\nfilter = { start_on = "volume", volume = "400 m3", latest = "11 d" }\n'
    text = OLD.replace("[policy.switch.filter]", f"{policy}[policy.switch.filter]", 1)
    assert '\nlongest_run = "11 d"\n' in rewritten(tmp_path, text)


def test_a_time_that_the_stage_has_already_is_taken_out(tmp_path: Path) -> None:
    """Half upgraded by hand: the stage's holds, and what was longer or the same is left out and told."""
    half = OLD.replace('limit = "0.5 mg/L"', 'limit = "0.5 mg/L"\nlongest_run = "9 d"', 1)
    text = rewritten(tmp_path, half)
    assert "latest" not in text
    assert text.count("longest_run") == 2


def test_line_ends_and_comments_of_a_table_that_is_emptied_stay(tmp_path: Path) -> None:
    text = OLD.replace("[downstream]", "[downstream]   # the rinsing line").replace("\n", "\r\n")
    new = rewritten(tmp_path, text)
    assert "# the rinsing line" in new
    assert "\n" not in new.replace("\r\n", "")


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('latest = "100 h"', 'longest_run = "90 h"\nlatest = "100 h"', "policy.switch.filter.latest"),
        ("[run]", 'use = "drinking"\n[run]', "use"),
    ],
)
def test_two_that_say_the_same_are_refused(tmp_path: Path, old: str, new: str, key: str) -> None:
    with pytest.raises(CaseError) as caught:
        rewritten(tmp_path, OLD.replace(old, new, 1))
    (problem,) = caught.value.problems
    assert (problem.key, problem.allowed) == (key, "one of them")


def stage_held(hold: str, steps: str) -> str:
    """A stage whose washes hold the unit, with its steps: "backwash 10" and so on."""
    each = (step.split() for step in steps.split(", "))
    return f'[[stage]]\nname = "sand"\nhold_unit = {hold}  # as wired\n' + "".join(
        f'[[stage.step]]\ndo = "{do}"\nminutes = {minutes}\n' for do, minutes in each
    )


@pytest.mark.parametrize(
    ("hold", "steps", "new", "told"),
    [
        ("{ from_minute = 0, to_minute = 16 }", "backwash 11, settle 2, rinse 13",
         '{ until = "settle", plus = "3 min" }', "minute 0 to 16"),
        ("{ from_minute = 0 }", "backwash 11, rinse 13", "{}", "minute 0 to 24"),
        ("{ from_minute = 12, to_minute = 24 }", "backwash 11, settle 2, rinse 11",
         '{from = "settle"}', "minute 11 to 24, in place of minute 12 to 24"),
        ("{ to_minute = 4 }", "backwash 11, rinse 13",
         '{until = "backwash"}', "minute 0 to 11, in place of minute 0 to 4"),
        ("{ to_minute = 5 }", "rinse 5, backwash 9, rinse 4", "{}", "minute 0 to 18, in place of minute 0 to 5"),
    ],
)  # fmt: skip
def test_minutes_of_a_hold_become_steps(hold: str, steps: str, new: str, told: str) -> None:
    found = upgraded(stage_held(hold, steps), Path("old.toml"))
    (line,) = [line for line in found.text.split("\n") if line.startswith("hold_unit")]
    assert line.replace(" ", "") == f"hold_unit={new}#aswired".replace(" ", "")
    assert found.changes == (f"stage.sand.hold_unit is now by steps, {told}",)


def test_an_old_train_of_several_filters_goes_on_waiting() -> None:
    two = '[[stage]]\nname = "a"\n[[stage]]\nname = "b"\n'
    assert upgraded(two, Path("old.toml")).text == '[washing]\ntogether = "wait"\n' + two
    stated = "[washing]\nmost_a_day = 2\n" + two
    assert 'most_a_day = 2\ntogether = "wait"\n' in upgraded(stated, Path("old.toml")).text
    alone = '[[stage]]\nname = "a"\n'
    for text in (alone, '[washing]\ntogether = "overlap"\n' + two):
        assert upgraded(text, Path("old.toml")).changes == ()
