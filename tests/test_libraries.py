"""What the program uses of simpy and numba beyond what they promise: present, and in a version it was tried with."""

from importlib.metadata import version
from pathlib import Path

import pytest
import simpy

from hydraulics import compiled
from sim.plant import environment

ROOT = Path(__file__).parents[1]


def untried(name: str, installed: str, tried: tuple[str, ...], file: str) -> str | None:
    """What to say of an installed version that is none of those tried, by their first two numbers."""
    if ".".join(installed.split(".")[:2]) in tried:
        return None
    return (
        f"{name} {installed} has not been tried: {file} uses private parts and was tried with {', '.join(tried)}. "
        "Run all tests, the long ones too, and `python -m tests.bench`; then add it to TRIED there."
    )


def test_the_installed_simpy_has_been_tried() -> None:
    said = untried("simpy", version("simpy"), environment.TRIED, "sim/plant/environment.py")
    assert said is None, said


def test_the_installed_numba_has_been_tried() -> None:
    pytest.importorskip("numba")
    said = untried("numba", version("numba"), compiled.TRIED, "hydraulics/compiled.py")
    assert said is None, said


def test_a_version_nobody_tried_is_named_with_what_to_do() -> None:
    assert untried("simpy", "4.1.9", ("4.0", "4.1"), "a.py") is None
    said = untried("simpy", "4.10.0", ("4.0", "4.1"), "a.py") or ""
    assert "simpy 4.10.0 has not been tried" in said
    assert "4.0, 4.1" in said


def test_simpy_has_the_private_parts_that_the_environment_uses() -> None:
    env, event = simpy.Environment(), simpy.Environment().event().succeed()
    missing = [name for name in ("_now", "_queue", "_eid") if not hasattr(env, name)]
    missing += [name for name in ("_ok", "_value") if not hasattr(event, name)]
    assert not missing, f"simpy {version('simpy')} lacks {missing}, which sim/plant/environment.py uses"
    env.timeout(3.0)
    time, *_, entry = env._queue[0]
    assert (time, len(env._queue[0]), type(entry)) == (3.0, 4, simpy.events.Timeout), (
        "simpy's queue holds other entries"
    )


def test_numba_has_the_private_parts_that_the_compiler_uses() -> None:
    numba = pytest.importorskip("numba")
    dispatcher = numba.njit(**compiled.OPTIONS)(lambda x: x)
    missing = [name for name in ("compile", "targetoptions") if not hasattr(dispatcher, name)]
    missing += [] if hasattr(numba.config, "CACHE_DIR") else ["config.CACHE_DIR"]
    assert not missing, f"numba {version('numba')} lacks {missing}, which hydraulics/compiled.py uses"
    entry = dispatcher.compile((numba.float64,))
    assert entry(2) == 2.0, "numba's compile no longer returns what is called"


@pytest.mark.parametrize(
    ("parts", "file"),
    [
        (("._eid", "._ok", "._value", "heapq"), environment.__file__),
        (("import numba", "_nrt", "no_cpython_wrapper", "CACHE_DIR ="), compiled.__file__),
    ],
)
def test_private_parts_stand_in_one_file(parts: tuple[str, ...], file: str) -> None:
    """Files that import the library, or are handed its objects: those of hydraulics and sim/plant."""
    others = [*(ROOT / "hydraulics").glob("*.py"), *(ROOT / "sim/plant").glob("*.py")]
    wrong = {
        path.name: found
        for path in others
        if path != Path(file) and (found := [part for part in parts if part in path.read_text(encoding="utf-8")])
    }
    assert all(part in Path(file).read_text(encoding="utf-8") for part in parts)
    assert wrong == {}
