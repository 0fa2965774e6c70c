"""`filterrun new` without a terminal: options, refusals, what is written and what is said."""

import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from plots.words import languages, say, speaking
from sim.case.load import load_case
from tests.cli.small import call
from tests.cli.test_words import CLAIMS, JARGON, found
from tests.test_architecture import loaded_by
from tests.write.ten import options

ROOT = Path(__file__).parents[2]
NEEDED = ["water", "train", "diameter", "flow", "hours", "turbidity", "temperature", "coagulant"]


def test_a_case_from_options_is_written_and_compares(tmp_path: Path) -> None:
    path = tmp_path / "plant.toml"
    done = call("new", path, *options(train="media,carbon"))
    assert done.exit_code == 0, done.stderr
    case = load_case(path)
    assert f"written: {path}" in done.stdout
    assert f"next: filterrun compare {path}" in done.stdout
    assert "carbon: followed as a filter of solids alone" in done.stdout
    assert f"Constants assumed: {len(case.assumptions)} of {case.constants}" in done.stdout
    short = tmp_path / "short.toml"
    short.write_text(path.read_text(encoding="utf-8").replace('"365 d"', '"20 d"'), encoding="utf-8")
    compared = call("compare", short, "--json", "-")
    assert compared.exit_code == 0, compared.stderr
    assert [each["name"] for each in json.loads(compared.stdout)["policies"]] == [
        "calendar", "volume", "volume with reserve", "pressure drop",
    ]  # fmt: skip


@pytest.mark.parametrize("language", languages()[1:])
def test_a_case_is_the_same_in_every_language(language: str, tmp_path: Path) -> None:
    """The same bytes; what is said of it is English and, in the language, called so."""
    with speaking(language):
        english = say("language.english")
    files = [tmp_path / "english" / "plant.toml", tmp_path / "other" / "plant.toml"]
    for file, spoken in zip(files, ("en", language), strict=True):
        file.parent.mkdir()
        done = call("new", file, *options(), "--language", spoken)
        assert done.exit_code == 0, done.stderr
        assert (english in done.stderr) == (spoken == language)
        assert "Constants assumed" in done.stdout
    assert files[0].read_bytes() == files[1].read_bytes()


def test_the_example_of_the_readme_works(tmp_path: Path) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8").replace("\\\n", " ")
    (line,) = re.findall(r"^filterrun (new plant\.toml --.*)$", readme, re.MULTILINE)
    command, name, *rest = shlex.split(line)
    done = call(command, tmp_path / name, *rest)
    assert done.exit_code == 0, done.stderr
    assert [stage.name for stage in load_case(tmp_path / name).stages] == ["media", "carbon"]


def test_check_lists_every_assumed_constant_of_it(tmp_path: Path) -> None:
    path = tmp_path / "plant.toml"
    assert call("new", path, *options()).exit_code == 0
    done = call("check", path, "--json", "-")
    assert len(json.loads(done.stdout)["assumed"]) == len(load_case(path).assumptions)


def test_missing_answers_are_one_error_that_lists_all(tmp_path: Path) -> None:
    path = tmp_path / "plant.toml"
    done = call("new", path)
    assert done.exit_code == 2
    assert done.stdout == ""
    lines = done.stderr.strip().split("\n")
    assert lines[0] == "filterrun: nothing written"
    assert [line.strip().split(" is missing: ")[0] for line in lines[1:]] == [f"--{key}" for key in NEEDED]
    assert not path.exists()


def test_wrong_and_missing_answers_are_told_together(tmp_path: Path) -> None:
    path = tmp_path / "plant.toml"
    done = call("new", path, *options(flow="25 kPa", hours="25", turbidity=None, coagulant="perhaps"))
    assert done.exit_code == 2
    told = [line.strip().split(" ")[0].rstrip(":") for line in done.stderr.strip().split("\n")[1:]]
    assert told == ["--flow", "--hours", "--coagulant", "--turbidity"]
    assert not path.exists()


def test_answers_that_clash_are_told(tmp_path: Path) -> None:
    done = call("new", tmp_path / "plant.toml", *options(flow="900 gpm"))
    assert done.exit_code == 2
    assert "--diameter and --flow: given 900 gpm through a filter of 30 in: 448 m/h" in done.stderr
    assert os.listdir(tmp_path) == []


def test_a_file_that_exists_is_left_as_it_is_unless_forced(tmp_path: Path) -> None:
    path = tmp_path / "plant.toml"
    path.write_text("mine", encoding="utf-8")
    done = call("new", path, *options())
    assert done.exit_code == 2
    assert "--force writes over it" in done.stderr
    assert path.read_text(encoding="utf-8") == "mine"
    assert call("new", path, "--force", *options()).exit_code == 0
    assert load_case(path).stages[0].name == "media"
    before = path.read_bytes()
    assert call("new", path, "--force", *options(flow="nothing")).exit_code == 2
    assert path.read_bytes() == before


@pytest.mark.parametrize("name", [".", "no/such/folder.toml"])
def test_a_place_that_cannot_be_written_is_refused_first(name: str, tmp_path: Path) -> None:
    done = call("new", tmp_path / name, "--force")
    assert done.exit_code == 2
    assert "cannot write" in done.stderr
    assert "missing" not in done.stderr
    assert os.listdir(tmp_path) == []


def test_a_pipe_is_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    done = call("new", tmp_path / "pipe", "--force", *options())
    assert done.exit_code == 2
    assert "not an ordinary file" in done.stderr


def test_quiet_says_nothing(tmp_path: Path) -> None:
    done = call("new", tmp_path / "plant.toml", "--quiet", *options())
    assert (done.exit_code, done.stdout, done.stderr) == (0, "", "")
    assert (tmp_path / "plant.toml").exists()


def test_the_same_answers_give_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a.toml", "b.toml"):
        assert call("new", tmp_path / name, *options()).exit_code == 0
    assert (tmp_path / "a.toml").read_bytes() == (tmp_path / "b.toml").read_bytes()


def test_help_loads_nothing_heavy_and_names_every_option() -> None:
    assert loaded_by("new", "--help") == []
    text = call("new", "--help").stdout
    for key in [*NEEDED, "units", "days", "limit", "depth", "backwash", "force", "quiet"]:
        assert f"--{key}" in text


def test_neither_help_nor_file_nor_remarks_claim_or_confuse(tmp_path: Path) -> None:
    path = tmp_path / "plant.toml"
    said = call("new", path, *options(train="oxidising,carbon,softener", coagulant="no")).stdout
    for text in (said, call("new", "--help").stdout, path.read_text(encoding="utf-8")):
        assert found(CLAIMS, text) == []
        assert found(JARGON, text) == []


def test_new_works_without_the_compiler_loaded(tmp_path: Path) -> None:
    words = ["new", str(tmp_path / "plant.toml"), *options()]
    script = f"import sys\nfrom sim.cli import main\nsys.argv = {['filterrun', *words]!r}\nmain()\n"
    check = "import atexit, sys\natexit.register(lambda: print('numba' in sys.modules))\n"
    done = subprocess.run([sys.executable, "-c", check + script], capture_output=True, text=True, check=True)
    assert done.stdout.strip().split("\n")[-1] == "False"
