"""Standing fault injection: over two hundred faults, after each of which nothing is lost and nothing is left.

A chain of faults hits one command again and again in one folder; then the command is left alone, and ends with the
bytes of one that nobody disturbed. Times are drawn, so where a fault hits differs; what is asserted does not.
"""

import contextlib
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from sim.processes import INTERRUPTED
from tests.cli.small import small_case
from tests.many.test_kills import children, kept, works
from tests.processes.started import PROGRAM, ROOT, interrupt, left_of, started, wait_until_it_listens

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="processes are found under /proc"),
]

REPLICATES = 400
STUDY = f"compare small.toml --replicates {REPLICATES} --workers 2 --study s.study --json r.json --quiet"
FILES = "compare small.toml --no-ranges --out shown --json shown/r.json --quiet"
SECONDS = {STUDY: 3.5, FILES: 4.0}  # about as long as they take
RUNS = 2 * REPLICATES

Inject = Callable[[random.Random, Path, str], None]
counted: Counter[str] = Counter()


@pytest.fixture(scope="module", autouse=True)
def table() -> Iterator[None]:
    """The injections as a table, under `pytest -s`."""
    yield
    print("\n" + "\n".join(f"{count:4d}  {kind}" for kind, count in sorted(counted.items())), file=sys.stderr)


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, bytes]]:
    """What each command leaves where nothing happens to it."""
    found = {}
    for command in SECONDS:
        folder = tmp_path_factory.mktemp("undisturbed")
        small_case(folder)
        ended(command, folder)
        found[command] = outputs(folder)
    return found


def outputs(folder: Path) -> dict[str, bytes]:
    """Every file of a result by name; a study is compared by its runs, since its pages may lie otherwise."""
    found = {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}
    return {name: content for name, content in found.items() if not name.startswith(("s.study", "small.toml"))}


def ended(command: str, folder: Path) -> None:
    """The command, left alone."""
    program = started(*command.split(), folder=folder)
    shown, told = program.communicate(timeout=600)
    assert (program.returncode, shown, told) == (0, "", "")
    assert left_of(program) == []


def killed(chance: random.Random, folder: Path, command: str) -> None:
    program = started(*command.split(), folder=folder)
    time.sleep(chance.uniform(0.0, SECONDS[command]))
    program.kill()
    program.communicate()
    assert left_of(program) == []


def stopped(chance: random.Random, folder: Path, command: str) -> None:
    program = started(*command.split(), folder=folder)
    wait_until_it_listens(program)
    time.sleep(chance.uniform(0.0, SECONDS[command]))
    interrupt(program)
    _, told = program.communicate(timeout=30)
    assert program.returncode in (0, INTERRUPTED)
    assert re.fullmatch(r"(interrupted.*\n)?", told), told
    assert left_of(program) == []
    assert not list(folder.rglob("*.part"))


def hanging(chance: random.Random, folder: Path, command: str) -> None:
    """A worker that does nothing any more; somebody loses patience."""
    program = started(*command.split(), folder=folder)
    deadline = time.monotonic() + SECONDS[command]
    workers: list[int] = []
    while not workers and time.monotonic() < deadline and program.poll() is None:
        workers = [each for server in children(program.pid) for each in children(server) if works(each)]
    time.sleep(chance.uniform(0.0, 1.0))
    with contextlib.suppress(ProcessLookupError):
        for worker in workers[:1]:
            os.kill(worker, signal.SIGSTOP)
        time.sleep(chance.uniform(0.2, 1.0))
    interrupt(program)
    _, told = program.communicate(timeout=30)
    assert program.returncode in (0, INTERRUPTED), told
    assert left_of(program) == []


def full_disk(chance: random.Random, folder: Path, command: str) -> None:
    """No file grows beyond a size somewhere below the largest that it would have."""
    most = chance.randrange(2_000, 120_000)
    words = [sys.executable, "-P", "-m", "tests.many.limited", str(most), *command.split()]
    done = subprocess.run(
        words, cwd=folder, env=os.environ | {"PYTHONPATH": str(ROOT)}, capture_output=True, text=True,
        timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode in (0, 1, 2), done.stderr
    if done.returncode:
        (line,) = done.stderr.splitlines()
        assert re.match(r"filterrun: cannot write .*(make room|too large|full)", line), line
    assert not list(folder.rglob("*.part"))


def clock_set_back(chance: random.Random, folder: Path, command: str) -> None:
    """The clock of the wall jumps by up to a day and a half whenever somebody looks."""
    code = (
        f"import random, time\nchance, real = random.Random({chance.randrange(10**9)}), time.time\n"
        "time.time = lambda: real() - chance.uniform(0.0, 130_000.0)\nfrom sim.cli import main\nmain()\n"
    )
    done = subprocess.run(
        [sys.executable, "-P", "-c", code, *command.split()], cwd=folder, capture_output=True, text=True,
        env=os.environ | {"PYTHONPATH": str(ROOT)}, timeout=300, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


CHAINS: dict[str, tuple[str, Inject, int]] = {
    "killed amid a study": (STUDY, killed, 47),
    "killed amid files": (FILES, killed, 30),
    "interrupted amid a study": (STUDY, stopped, 45),
    "interrupted amid files": (FILES, stopped, 30),
    "a worker that hangs": (STUDY, hanging, 15),
    "disk full amid a study": (STUDY, full_disk, 15),
    "disk full amid files": (FILES, full_disk, 12),
    "clock set back": (STUDY, clock_set_back, 3),
}
FRESH_EVERY = 8  # faults of a chain, so that none of them works on a study that is done


@pytest.mark.parametrize("name", CHAINS)
def test_a_chain_of_faults_loses_nothing(tmp_path: Path, name: str, undisturbed: dict[str, dict[str, bytes]]) -> None:
    command, inject, count = CHAINS[name]
    chance = random.Random(name)
    for turn in range(0, count, FRESH_EVERY):
        folder = tmp_path / str(turn)
        folder.mkdir()
        small_case(folder)
        before: set[tuple[str, int]] = set()
        for _ in range(min(FRESH_EVERY, count - turn)):
            inject(chance, folder, command)
            counted[name] += 1
            whole = outputs(folder)
            whole = {path: content for path, content in whole.items() if not path.endswith(".part")}
            assert all(content == undisturbed[command][path] for path, content in whole.items())
            if (folder / "s.study").exists():
                rows = kept(folder / "s.study")
                assert len(rows) == len(set(rows))
                assert before <= set(rows)
                before = set(rows)
        ended(command, folder)
        assert outputs(folder) == undisturbed[command]
        if command == STUDY:
            assert len(kept(folder / "s.study")) == RUNS
        shutil.rmtree(folder)


COMPILED = "compare small.toml --no-ranges --json r.json --quiet"


def test_compiled_code_that_cannot_be_kept(tmp_path: Path) -> None:
    small_case(tmp_path)
    counted["a cache for compiled code that cannot be written"] += 1
    program = started(*COMPILED.split(), folder=tmp_path, NUMBA_CACHE_DIR="/proc/none")
    _, told = program.communicate(timeout=300)
    assert (program.returncode, told) == (0, "")
    assert (tmp_path / "r.json").exists()


def test_two_that_compile_at_once(tmp_path: Path) -> None:
    """Into one empty cache, one of them killed; then the cache serves a third, and both say the same."""
    results = []
    programs = []
    for name in ("one", "two"):
        folder = tmp_path / name
        folder.mkdir()
        small_case(folder)
        programs.append(started(*COMPILED.split(), folder=folder, NUMBA_CACHE_DIR=str(tmp_path / "cache")))
        counted["two that compile at once"] += 1
    time.sleep(random.Random("one is killed").uniform(8.0, 14.0))
    programs[0].kill()
    for program, name in zip(programs, ("one", "two"), strict=True):
        _, told = program.communicate(timeout=300)
        assert told == ""
        if program.returncode == 0:
            results.append((tmp_path / name / "r.json").read_bytes())
    third = started(*COMPILED.split(), folder=tmp_path / "one", NUMBA_CACHE_DIR=str(tmp_path / "cache"))
    third.communicate(timeout=300)
    results.append((tmp_path / "one" / "r.json").read_bytes())
    assert len(results) >= 2
    assert len(set(results)) == 1


def test_there_are_two_hundred_of_them() -> None:
    assert sum(count for _, _, count in CHAINS.values()) + 1 + 2 >= 200
    assert PROGRAM
