"""The program as a person starts it, in a folder of its own, and what of it is still running."""

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

ROOT = Path(__file__).parents[2]
CASES = ROOT / "cases"
# As the installed command does, this looks for no module in the current folder, and finds the program being tested.
PROGRAM = [sys.executable, "-P", "-c", "from sim.cli import main; main()"]
DEAF_NO_MORE = ["env", "--default-signal=INT"]  # what runs in the background of a shell is born deaf to interrupts


def started(*words: str | Path, folder: Path, **environment: str) -> "subprocess.Popen[str]":
    """The program in a process group of its own, in `folder`, with some more environment."""
    return subprocess.Popen(
        [*DEAF_NO_MORE, *PROGRAM, *map(str, words)], cwd=folder, env=_environment(environment), text=True,
        start_new_session=True, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip


def _environment(more: Mapping[str, str]) -> dict[str, str]:
    plain = {name: value for name, value in os.environ.items() if name not in ("PYTHONSAFEPATH", "PYTHONWARNINGS")}
    return plain | {"PYTHONPATH": str(ROOT)} | more


def wait_until_it_listens(program: "subprocess.Popen[str]") -> None:
    """Until the program takes interrupts itself, or has ended: before that Python, still starting, takes them."""
    while program.poll() is None and not _blocks_interrupts(program.pid):
        time.sleep(0.002)


def _blocks_interrupts(pid: int) -> bool:
    with contextlib.suppress(OSError):
        for line in Path(f"/proc/{pid}/status").read_text().splitlines():
            if line.startswith("SigBlk:"):
                return bool(int(line.split()[1], 16) & 1 << signal.SIGINT - 1)
    return False


def left_of(program: "subprocess.Popen[str]") -> list[str]:
    """The command lines of what still runs of its group a second after its end."""
    until = time.monotonic() + 1.0
    while (found := _in_group(program.pid)) and time.monotonic() < until:
        time.sleep(0.02)
    return found


def _in_group(group: int) -> list[str]:
    found = []
    for entry in Path("/proc").iterdir():
        try:
            state, _, own = (entry / "stat").read_text().rpartition(")")[2].split()[:3]
            if entry.name.isdigit() and int(own) == group and state != "Z":
                found.append((entry / "cmdline").read_text().replace("\0", " "))
        except (OSError, ValueError):
            continue
    return found


def interrupt(program: "subprocess.Popen[str]") -> None:
    """Ctrl-C at a terminal: every process of the group gets it, if any is left."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(program.pid, signal.SIGINT)
