"""Property: a stored run is found again just as long as nothing that can change it has changed."""

import shutil
from pathlib import Path

import pytest

from sim.study.many.program import ROOMS, sources
from tests.test_architecture import ROOT, imported, modules

RUNS = ("sim.study.many.outcome", "sim.study.many.draws", "sim.study.many.jobs")
WORDLESS = ("sim.errors", "sim.processes", "sim.study.errors")  # how runs and processes end changes no figure


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("program")
    for top in ("hydraulics", "sim", "plots"):
        shutil.copytree(ROOT / top, root / top, ignore=shutil.ignore_patterns("__pycache__"))
    return root


@pytest.mark.parametrize("file", ["sim/tell/kpis.py", "sim/review/steps.py", "sim/cli/run.py", "sim/study/doubts.py"])
def test_what_only_judges_or_tells_orphans_no_study(copy: Path, file: str) -> None:
    before = sources(copy)
    with (copy / file).open("a", encoding="utf-8") as text:
        text.write('\nREWORDED = "another sentence"\n')
    assert sources(copy) == before


@pytest.mark.parametrize("file", ["sim/plant/kernel.py", "hydraulics/capture.py", "sim/study/many/draws.py"])
def test_what_computes_a_run_is_another_program(copy: Path, file: str) -> None:
    before, text = sources(copy), (copy / file).read_text(encoding="utf-8")
    (copy / file).write_text(f"{text}\n", encoding="utf-8")
    assert sources(copy) != before
    (copy / file).write_text(text, encoding="utf-8")
    assert sources(copy) == before


def test_all_that_a_run_imports_is_part_of_the_program() -> None:
    """From the functions that a worker calls, import after import."""
    known, found, left = modules(), set[str](), list(RUNS)
    while left:
        name = left.pop()
        if name in known and name not in found:
            found.add(name)
            left += imported(name, known[name])
    rooms = tuple(room.replace("/", ".") for room in ROOMS)
    outside = {name for name in found if not name.startswith(rooms) and name not in WORDLESS}
    assert "sim.plant.kernel" in found
    assert outside == set()
