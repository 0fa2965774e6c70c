"""Ctrl-C at any moment: one line, exit code 130, nothing left running, nothing half written."""

import random
import time
from pathlib import Path

import pytest

from sim.processes import INTERRUPTED
from tests.cli.small import small_case
from tests.processes.started import interrupt, left_of, started, wait_until_it_listens

pytestmark = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are found under /proc")

# Command, and the seconds within which it is interrupted: from when it listens to after its end.
COMMANDS: dict[str, tuple[str, float]] = {
    "files": ("compare CASE --no-ranges --out shown --json r.json", 4.0),
    "ranges": ("compare CASE --json r.json", 5.0),
    "workers": ("compare CASE --replicates 3000 --workers 2 --study s.study", 5.0),
    "page": ("page CASE --port 0", 5.0),
    "lesson": ("lesson rinse --out shown", 3.0),
    "start": ("check CASE", 0.3),
}


def interrupted(folder: Path, name: str, after: float, **environment: str) -> bool:
    """Interrupt a command after so many seconds; whether it was still at work. Everything else is asserted."""
    case = folder / "small.toml"
    if not case.exists():
        small_case(folder)
    words = [str(case) if word == "CASE" else word for word in COMMANDS[name][0].split()]
    program = started(*words, folder=folder, **environment)
    wait_until_it_listens(program)
    time.sleep(after)
    if program.poll() is None:
        interrupt(program)
    shown, told = program.communicate(timeout=60)
    lines = [line for line in told.splitlines() if not line.startswith(("Starting the page", "The page is at"))]
    assert left_of(program) == []
    assert not [path.name for path in folder.rglob("*.part")]
    if program.returncode == INTERRUPTED:
        assert lines, told
        assert lines[-1].startswith("interrupted"), told
        assert all(line.startswith("Written: ") for line in lines[:-1]), told
        return True
    assert program.returncode == 0, told  # it had ended, or was about to
    assert "Traceback" not in told
    assert shown or name in ("files", "page", "workers")
    return False


@pytest.mark.parametrize("name", COMMANDS)
def test_an_interrupt_is_one_line(tmp_path: Path, name: str) -> None:
    """0.1 s is less than any of them takes to be at work."""
    assert interrupted(tmp_path, name, 0.1)


@pytest.mark.parametrize("name", [
    each if each in ("workers", "page") else pytest.param(each, marks=pytest.mark.long) for each in COMMANDS
])  # fmt: skip
def test_an_interrupt_at_some_moment_is_one_line(tmp_path: Path, name: str) -> None:
    """While it imports, starts workers, runs."""
    interrupted(tmp_path, name, COMMANDS[name][1] * random.Random(name).random())


def test_an_interrupt_that_a_program_is_deaf_to_stays_unheard(tmp_path: Path) -> None:
    """What a shell starts in the background, or nohup, ignores interrupts; so does this program then."""
    import subprocess

    from tests.processes.started import PROGRAM, ROOT

    case = small_case(tmp_path)
    words = ["env", "--ignore-signal=INT", f"PYTHONPATH={ROOT}", *PROGRAM, "compare", case, "--no-ranges"]
    program = subprocess.Popen(words, cwd=tmp_path, start_new_session=True, stdout=subprocess.PIPE, text=True)
    time.sleep(0.5)
    interrupt(program)
    shown, _ = program.communicate(timeout=60)
    assert program.returncode == 0
    assert "water to drain" in shown
