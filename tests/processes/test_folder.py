"""Nothing that lies in the current folder is run, whatever it is called and whoever starts."""

import os
import re
import subprocess
import sys
import time
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

from sim.processes import INTERRUPTED
from tests.cli.small import small_text
from tests.processes.started import CASES, ROOT, interrupt, left_of, started
from tests.web.serving import Served

# Modules that every fresh process imports sooner or later; run, each leaves a mark and then stands in the way.
PLANTED = ("pickle", "html", "numbers", "numba", "base64", "sim")
MARK = "was-run.txt"

pytestmark = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are found under /proc")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in PLANTED:
        mark = tmp_path / MARK
        text = f'open({str(mark)!r}, "a").write({name!r} + " ")\nraise ImportError("planted")\n'
        (tmp_path / f"{name}.py").write_text(text, encoding="utf-8")
    return tmp_path


def short_case(folder: Path) -> Path:
    """Nine hours: nothing here depends on what happens in a run."""
    path = folder / "short.toml"
    path.write_text(small_text().replace('length = "9 d"', 'length = "9 h"'), encoding="utf-8")
    return path


def unmarked(folder: Path) -> None:
    mark = folder / MARK
    assert not mark.exists(), mark.read_text()


def test_the_plants_are_run_where_the_folder_is_on_the_path(folder: Path) -> None:
    """The check itself: a process started with this folder on its path does run one of them."""
    subprocess.run([sys.executable, "-c", "import pickle"], cwd=folder, capture_output=True, check=False)
    assert (folder / MARK).exists()


@pytest.mark.parametrize("way", ["forkserver", "spawn"])
def test_a_process_runs_nothing_of_the_folder(folder: Path, way: str) -> None:
    """Both ways in which processes begin, with the one that counts shared resources."""
    script = ROOT / "tests" / "processes" / "spawning.py"
    done = subprocess.run(
        [sys.executable, "-P", str(script), way], cwd=folder, capture_output=True, text=True, timeout=60, check=False,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert (done.returncode, done.stdout, done.stderr) == (0, "done\n", "")
    unmarked(folder)


def test_workers_run_nothing_of_the_folder(folder: Path) -> None:
    words = ["compare", short_case(folder), "--replicates", "4", "--workers", "2", "--json", "r.json"]
    _, told = (program := started(*words, folder=folder, FILTERRUN_PLAIN="1")).communicate(timeout=300)
    assert program.returncode == 0, told
    assert (folder / "r.json").exists()
    unmarked(folder)


def test_the_page_runs_nothing_of_the_folder(folder: Path) -> None:
    program = started("page", CASES / "reference.toml", "--port", "0", folder=folder)
    try:
        assert program.stderr is not None
        port = next(int(found[1]) for line in program.stderr if (found := re.search(r"http://\S+:(\d+)/", line)))
        answer = Served(port, program, (), folder).settled("/start/answer")
        assert answer.status == 200
    finally:
        interrupt(program)
        program.communicate(timeout=30)
    assert program.returncode == INTERRUPTED
    assert left_of(program) == []
    unmarked(folder)


@pytest.mark.long
def test_workers_of_a_cluster_run_nothing_of_the_folder(folder: Path) -> None:
    """Started as README says, in a folder that holds anything."""
    if find_spec("distributed") is None:
        pytest.skip('the extra "cluster" is not installed')
    address, environment = "tcp://127.0.0.1:18787", os.environ | {"PYTHONPATH": str(ROOT), "PYTHONSAFEPATH": "1"}
    where: dict[str, Any] = {"cwd": folder, "env": environment, "stderr": subprocess.DEVNULL}
    scheduler = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "18787"]
    worker = [sys.executable, "-m", "distributed.cli.dask_worker", address, "--nthreads", "1", "--nworkers", "2"]
    minders = [subprocess.Popen([*words, "--no-dashboard"], **where) for words in (scheduler, worker)]
    try:
        time.sleep(10.0)  # until the workers have come to the scheduler
        words = ["compare", CASES / "reference.toml", "--replicates", "4", "--cluster", address, "--json", "r.json"]
        _, told = (program := started(*words, folder=folder)).communicate(timeout=300)
    finally:
        for minder in reversed(minders):
            minder.terminate()
            minder.wait(timeout=30)
    assert program.returncode == 0, told
    unmarked(folder)


BROKEN = {
    "an import that fails": ('raise ImportError("its library is too old")', "ImportError: its library is too old"),
    "a part that is missing": ("import a_part_of_it", "No module named 'a_part_of_it'"),
    "another thing of that name": ("", "which is no compiler"),
}


def compared(folder: Path, first: str = "") -> "subprocess.CompletedProcess[str]":
    """compare on a small case, with modules of a folder before all others."""
    (folder / "modules").mkdir(exist_ok=True)
    paths = os.pathsep.join([str(folder / "modules"), str(ROOT)])
    code = f"{first}\nfrom sim.cli import main; main()"
    return subprocess.run(
        [sys.executable, "-P", "-c", code, "compare", short_case(folder), "--no-ranges"], cwd=folder, text=True,
        env=os.environ | {"PYTHONPATH": paths}, capture_output=True, timeout=120, check=False,
    )  # fmt: skip


@pytest.mark.parametrize("how", BROKEN)
def test_a_compiler_that_cannot_be_loaded_is_told_as_that(tmp_path: Path, how: str) -> None:
    text, why = BROKEN[how]
    (tmp_path / "modules").mkdir()
    (tmp_path / "modules" / "numba.py").write_text(text, encoding="utf-8")
    done = compared(tmp_path)
    assert done.returncode == 1
    (line,) = done.stderr.splitlines()
    assert line.startswith("filterrun: numba cannot be loaded (")
    assert why in line
    assert "FILTERRUN_PLAIN=1" in line


def test_only_where_the_compiler_is_absent_the_program_goes_on_without_it(tmp_path: Path) -> None:
    done = compared(tmp_path, "import sys; sys.modules['numba'] = None")
    assert (done.returncode, done.stderr) == (0, "")
