"""Wrong input, wrong places, failing and interrupted runs: one clear message, an exit code, nothing left."""

import subprocess
import sys
from pathlib import Path

import pytest

from sim.plant.errors import RunError
from tests.cli.small import call, small_case, small_text

ROOT = Path(__file__).parent.parent.parent
COMMANDS = (["compare"], ["run", "--policy", "two nights"], ["check"])


@pytest.fixture
def case(tmp_path: Path) -> str:
    return small_case(tmp_path)


def stop_if_run(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    """Any run raises this error."""

    def simulate(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("sim.study.compare.simulate", simulate)
    monkeypatch.setattr("sim.study.compare.run_by_weeks", simulate)
    monkeypatch.setattr("sim.study.single.simulate", simulate)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda words: words[0])
def test_a_wrong_case_shows_every_problem_and_writes_nothing(command: list[str], tmp_path: Path) -> None:
    text = small_text(depth="1.7 m").replace("limit =", "limitt =").replace('"11 degC"', '"11 bar"')
    (tmp_path / "wrong.toml").write_text(text, encoding="utf-8")
    done = call(*command, tmp_path / "wrong.toml", "--out", tmp_path / "out", "--json", tmp_path / "out" / "a.json")
    assert done.exit_code == 2
    assert done.stdout == ""
    for words in (
        "limitt",
        "limit",
        "11 bar",
        "degC",
        "given:",
        "allowed:",
        "try:",
        "line 6",
        "nothing was run",
    ):
        assert words in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["wrong.toml"]


@pytest.mark.parametrize("command", COMMANDS, ids=lambda words: words[0])
def test_a_missing_case_is_wrong_input(command: list[str], tmp_path: Path) -> None:
    done = call(*command, tmp_path / "nowhere.toml")
    assert (done.exit_code, done.stdout) == (2, "")
    assert "nowhere.toml" in done.stderr


@pytest.mark.parametrize(
    "words", [["compare"], ["compare", "a", "b"], ["run", "a"], ["compare", "a", "--units", "cgs"]]
)
def test_wrong_usage(words: list[str]) -> None:
    done = call(*words)
    assert (done.exit_code, done.stdout) == (2, "")
    assert "Usage: filterrun" in done.stderr


@pytest.mark.parametrize(
    ("name", "offer"),
    [
        ("two nigths", 'did you mean "two nights"?'),
        ("By Volume", 'did you mean "by volume"?'),
        ("zzz", "it has:"),
    ],
)
def test_an_unknown_policy_gets_the_nearest_name(case: str, tmp_path: Path, name: str, offer: str) -> None:
    done = call("run", case, "--policy", name, "--out", tmp_path / "out")
    assert (done.exit_code, done.stdout) == (2, "")
    assert f'no policy "{name}"' in done.stderr
    assert offer in done.stderr
    assert '"two nights", "by volume"' in done.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("command", COMMANDS, ids=lambda words: words[0])
def test_a_place_that_cannot_be_written_is_refused_before_the_run(
    command: list[str], case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stop_if_run(monkeypatch, AssertionError("ran"))
    (tmp_path / "taken").write_text("mine")
    for place in (
        ["--out", tmp_path / "taken"],
        ["--out", tmp_path / "taken" / "deep"],
        ["--json", tmp_path],
        ["--json", tmp_path / "nowhere" / "a.json"],
        ["--json", case],
    ):
        done = call(*command, case, *place)
        assert (done.exit_code, done.stdout) == (2, "")
        assert "cannot write" in done.stderr
    assert (tmp_path / "taken").read_text() == "mine"
    assert Path(case).read_text() == small_text()


@pytest.mark.parametrize("command", COMMANDS[:2], ids=lambda words: words[0])
@pytest.mark.parametrize(
    ("error", "code", "message"),
    [(RunError("the bed is lost"), 1, "the bed is lost"), (KeyboardInterrupt(), 130, "interrupted")],
    ids=["failed", "interrupted"],
)
def test_a_run_that_does_not_finish_writes_nothing(
    command: list[str],
    error: BaseException,
    code: int,
    message: str,
    case: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stop_if_run(monkeypatch, error)
    done = call(*command, case, "--out", tmp_path / "out", "--json", tmp_path / "a.json")
    assert (done.exit_code, done.stdout) == (code, "")
    assert message in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["small.toml"]


def test_a_full_disk_is_a_failure_with_a_message(case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    done = call("check", case, "--out", tmp_path / "out")
    assert done.exit_code == 1
    assert "No space left on device" in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_fault_of_the_program_is_not_hidden(case: str, monkeypatch: pytest.MonkeyPatch) -> None:
    stop_if_run(monkeypatch, ZeroDivisionError("a fault"))
    done = call("compare", case)
    assert done.exit_code == 1
    assert isinstance(done.exception, ZeroDivisionError)


def run_main(script: str, *words: str) -> subprocess.CompletedProcess[str]:
    """The real entry point in a process of its own, after a line of preparation."""
    argv = ["filterrun", *words]
    text = f"import sys\n{script}\nfrom sim.cli import main\nsys.argv = {argv!r}\nmain()\n"
    return subprocess.run([sys.executable, "-c", text], cwd=ROOT, capture_output=True, text=True, check=False)


def test_exit_codes_reach_the_shell(case: str, tmp_path: Path) -> None:
    interrupting = (
        "import sim.study.compare\ndef stop(*_, **__): raise KeyboardInterrupt\nsim.study.compare.simulate = stop\n"
    )
    assert run_main("", "check", case).returncode == 0
    assert run_main("", "check", str(tmp_path / "nowhere.toml")).returncode == 2
    assert run_main("", "chek", case).returncode == 2
    interrupted = run_main(interrupting, "compare", case)
    assert interrupted.returncode == 130
    assert "Traceback" not in interrupted.stderr


def test_a_terminal_that_knows_no_accents_still_gets_its_text(tmp_path: Path) -> None:
    case = small_case(tmp_path, title="Filtré à 5 m³/h")
    script = "sys.stdout.reconfigure(encoding='ascii')"
    done = run_main(script, "check", case)
    assert done.returncode == 0, done.stderr
    assert "Filtr? ? 5 m?/h" in done.stdout


def test_a_run_of_no_time_has_nothing_to_draw_and_decides_nothing(tmp_path: Path) -> None:
    text = (ROOT / "cases" / "laundry.toml").read_text(encoding="utf-8").replace('length = "365 d"', 'length = "0 d"')
    case = tmp_path / "none.toml"
    case.write_text(text, encoding="utf-8")
    assert call("compare", case, "--no-ranges").exit_code == 0
    told_of = {"compare": "nothing to draw", "advise": "decides nothing", "payback": "decides nothing"}
    for words, told in told_of.items():
        done = call(words, case, "--out", tmp_path / "out")
        assert (done.exit_code, done.stdout) == (2, "")
        assert told in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["none.toml"]


def test_a_name_with_control_characters_cannot_steer_the_terminal(case: str, tmp_path: Path) -> None:
    red = "\x1b[31m"
    refused = call("run", case, "--policy", f"two{red}nights", color=True)
    assert (refused.exit_code, refused.stdout) == (2, "")
    written = call("run", case, "--policy", "two nights", "--json", tmp_path / f"a{red}.json", color=True)
    assert written.exit_code == 0
    for done in (refused, written):
        assert "\x1b" not in done.stderr
        assert "\\x1b[31m" in done.stderr


def test_an_empty_name_is_no_folder(case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.iterdir())
    done = call("run", case, "--policy", "two nights", "--out", "")
    assert (done.exit_code, done.stdout) == (2, "")
    assert "an empty name is no folder" in done.stderr
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize("module", ["sim.cli.options", "sim.web"])
def test_settings_of_drawings_in_the_folder_are_not_read(module: str, tmp_path: Path) -> None:
    """A file of this name in the current folder is the first that matplotlib looks for."""
    (tmp_path / "matplotlibrc").write_text("no.such.key: 1\naxes.formatter.use_mathtext: True\n", encoding="utf-8")
    script = (
        f"import plots, {module}\nplots.load_drawing()\n"
        "import matplotlib\nprint(matplotlib.rcParams['axes.formatter.use_mathtext'])\n"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("False\n", "")
    # The settings are read where nothing is done about it: this check can fail.
    bare = "import matplotlib\nprint(matplotlib.rcParams['axes.formatter.use_mathtext'])\n"
    read = subprocess.run([sys.executable, "-c", bare], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert read.stdout == "True\n"
