"""A wheel from the source archive of a clean copy, installed away from it, on the oldest and the newest Python."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TESTED = Path(__file__).parent / "tested.txt"
LEFT_OUT = shutil.ignore_patterns(".git", "*.egg-info", "build", "dist", ".venv", "__pycache__", "out", ".*_cache")
NEW = (
    "--water lake --train media,carbon --diameter 0.9m --flow 7m3/h --hours 13 --turbidity 5NTU "
    "--temperature 6..21degC --coagulant yes"
)

pytestmark = pytest.mark.long


def pythons() -> Iterator[str]:
    """Interpreters from 3.11 on, by version: on the path, or beside the one that runs this."""
    places = [Path(folder) for folder in os.environ["PATH"].split(os.pathsep)]
    places += sorted(Path(sys.base_prefix).parent.glob("3.*/bin"))
    for minor in range(11, 20):
        found = [place / f"python3.{minor}" for place in places if (place / f"python3.{minor}").exists()]
        working = (each for each in found if subprocess.run([each, "-c", ""], capture_output=True).returncode == 0)
        if (first := next(working, None)) is not None:
            yield str(first)


def oldest_and_newest() -> list[str]:
    found = list(pythons())
    return [found[0], *found[1:][-1:]]


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, which is built from the source archive and nothing else."""
    copy = tmp_path_factory.mktemp("build") / "copy"
    shutil.copytree(ROOT, copy, ignore=LEFT_OUT)
    done(sys.executable, "-m", "build", "--outdir", str(copy / "made"), str(copy))
    (wheel,) = (copy / "made").glob("*.whl")
    return wheel


def done(*words: str, cwd: Path | None = None) -> str:
    """What a command says on standard output; it has to end well."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    ended = subprocess.run(words, cwd=cwd, env=environment, capture_output=True, text=True, timeout=900, check=False)
    assert ended.returncode == 0, f"{words}\n{ended.stdout[-3000:]}\n{ended.stderr[-3000:]}"
    return ended.stdout


@pytest.mark.parametrize("python", oldest_and_newest(), ids=lambda path: Path(path).name)
def test_an_installed_copy_does_its_main_jobs(built: Path, tmp_path: Path, python: str) -> None:
    done(python, "-m", "venv", str(tmp_path / "own"))
    program = tmp_path / "own" / "bin" / "filterrun"
    done(str(program.with_name("python")), "-m", "pip", "install", "--quiet", "-c", str(TESTED), str(built))
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    assert "rinse" in done(str(program), "lesson", cwd=folder)
    assert "rinse" in done(str(program), "lesson", "rinse", cwd=folder)
    done(str(program), "new", "plant.toml", *NEW.split(), cwd=folder)
    assert "water to drain" in done(str(program), "compare", "plant.toml", "--no-ranges", cwd=folder)
    page = subprocess.Popen([program, "page", "--port", "0"], cwd=folder, stderr=subprocess.PIPE, text=True)
    try:
        assert page.stderr is not None
        address = next(found[0] for line in page.stderr if (found := re.search(r"http://\S+/", line)))
        asked = f"import urllib.request as u; print(u.urlopen({address!r}, timeout=60).read().decode())"
        assert "What should start a wash?" in done(python, "-c", asked)
    finally:
        page.terminate()
        page.communicate(timeout=30)


def test_the_tested_versions_name_no_place_to_get_them_from() -> None:
    lines = [line for line in TESTED.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    assert all(re.fullmatch(r"[\w.-]+==[\w.+!-]+", line) for line in lines)
