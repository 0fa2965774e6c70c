"""Processes killed at random moments: nothing lost, nothing twice, the same bytes in the end."""

import contextlib
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
KILLS = 20
REPLICATES = 500
RUNS = 4 * REPLICATES
ENVIRONMENT = os.environ | {"FILTERRUN_PLAIN": "1"}  # nothing here needs compiled code

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="children are found under /proc"),
]


def started(folder: Path, name: str, address: str) -> "subprocess.Popen[str]":
    """The driver with a study and a result of this name."""
    words = [str(folder / f"{name}.study"), str(folder / f"{name}.json"), str(REPLICATES), address]
    return subprocess.Popen(
        [sys.executable, "-m", "tests.many.driver", *words],
        cwd=ROOT, env=ENVIRONMENT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def wait_for(driver: "subprocess.Popen[str]", lines: int) -> None:
    """Until the driver has told so often how far it is, or has ended."""
    assert driver.stdout is not None
    for _ in zip(range(lines), driver.stdout, strict=False):
        pass


def finished(driver: "subprocess.Popen[str]") -> None:
    _, errors = driver.communicate(timeout=300)
    assert driver.returncode == 0, errors


def children(pid: int) -> list[int]:
    found = []
    with contextlib.suppress(OSError):
        for task in Path(f"/proc/{pid}/task").iterdir():
            found += [int(each) for each in (task / "children").read_text().split()]
    return found


def works(pid: int) -> bool:
    """Whether a process is a worker, and not the one that counts shared resources."""
    with contextlib.suppress(OSError):
        return b"resource_tracker" not in Path(f"/proc/{pid}/cmdline").read_bytes()
    return False


def kept(path: Path) -> list[tuple[str, int]]:
    """Policy and replicate of every run on file, as a killed process leaves it."""
    with contextlib.closing(sqlite3.connect(path)) as base:
        return list(base.execute("SELECT policy, replicate FROM run"))


@pytest.fixture(scope="module")
def scheduler() -> Iterator[tuple[str, int]]:
    """Address of a scheduler on loopback with two workers of a thread each, and the process that minds these."""
    if find_spec("distributed") is None:
        pytest.skip('the extra "cluster" is not installed')
    address = "tcp://127.0.0.1:18786"
    head = subprocess.Popen(
        [sys.executable, "-m", "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "18786",
         "--no-dashboard"],
        cwd=ROOT, env=ENVIRONMENT, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    minder = subprocess.Popen(
        [sys.executable, "-m", "distributed.cli.dask_worker", address, "--nworkers", "2", "--nthreads", "1",
         "--host", "127.0.0.1", "--no-dashboard"],
        cwd=ROOT, env=ENVIRONMENT | {"PYTHONPATH": str(ROOT)}, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    yield address, minder.pid
    for process in (minder, head):
        process.send_signal(signal.SIGTERM)
        process.wait(timeout=30)


@pytest.fixture(params=["local", "cluster"])
def crew(request: pytest.FixtureRequest) -> tuple[str, int]:
    """Address of the cluster and the pid whose children are its workers; "" and 0 for processes of the driver's."""
    if request.param == "local":
        return "", 0
    found: tuple[str, int] = request.getfixturevalue("scheduler")
    return found


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The result of a study that nobody disturbed."""
    folder = tmp_path_factory.mktemp("whole")
    finished(started(folder, "whole", ""))
    return (folder / "whole.json").read_bytes()


def test_a_killed_parent_costs_nothing_that_was_done(tmp_path: Path, crew: tuple[str, int], whole: bytes) -> None:
    chance = random.Random(20270104)
    study, result = tmp_path / "killed.study", tmp_path / "killed.json"
    before: set[tuple[str, int]] = set()
    amid = 0  # kills that found a study under way
    for _ in range(KILLS):
        driver = started(tmp_path, "killed", crew[0])
        if chance.random() < 0.2:  # while it starts
            time.sleep(chance.uniform(0.0, 2.0))
        else:  # after some batches of this sitting, at any moment of the next one
            wait_for(driver, lines=2 + chance.randrange(8))
            time.sleep(chance.uniform(0.0, 0.3))
        driver.kill()
        driver.communicate()
        assert not result.exists() or result.read_bytes() == whole
        result.unlink(missing_ok=True)
        if study.exists():
            rows = kept(study)
            assert len(rows) == len(set(rows))
            assert before <= set(rows)
            before = set(rows)
            amid += 0 < len(rows) < RUNS
    assert amid >= KILLS // 2
    finished(started(tmp_path, "killed", crew[0]))
    assert result.read_bytes() == whole
    assert sorted(kept(study)) == sorted((name, place) for name in "abcd" for place in range(REPLICATES))


def test_a_killed_worker_costs_a_repetition(tmp_path: Path, crew: tuple[str, int], whole: bytes) -> None:
    chance = random.Random(20270105)
    address, minder = crew
    moments = sorted(chance.sample(range(4, RUNS - 40), KILLS))
    driver = started(tmp_path, "lost", address)
    assert driver.stdout is not None
    killed = 0
    for line in driver.stdout:
        done = int(line) if line.strip().isdigit() else 0
        if killed < KILLS and done >= moments[killed]:
            servers = [minder] if minder else children(driver.pid)
            workers = [worker for server in servers for worker in children(server) if works(worker)]
            if workers:
                with contextlib.suppress(ProcessLookupError):
                    os.kill(chance.choice(workers), signal.SIGKILL)
                    killed += 1
    finished(driver)
    assert killed == KILLS
    assert (tmp_path / "lost.json").read_bytes() == whole
    assert len(kept(tmp_path / "lost.study")) == len(set(kept(tmp_path / "lost.study"))) == RUNS
