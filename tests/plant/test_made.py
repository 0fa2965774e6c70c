"""Exact: plain Python until compiled code is there, the same to the bit, made once and waited for by many runs."""

import ast
import subprocess
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from hydraulics.compiled import is_compiled
from sim.plant import line, made
from sim.plant.simulate import simulate
from tests.plant.builders import DAY, make_case, replace

fcntl = pytest.importorskip("fcntl")
needs_compiler = pytest.mark.skipif(not is_compiled(), reason="numba is not there, or FILTERRUN_PLAIN is set")


@pytest.fixture
def mark(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """As after an installation: nothing is made, and where it will be marked that it is."""
    monkeypatch.setenv("FILTERRUN_PLAIN", "")
    monkeypatch.setattr(made, "_is_made", False)
    monkeypatch.setattr(made, "_ran_plain", False)
    monkeypatch.setattr(made, "_mark", lambda: tmp_path / "made")
    return tmp_path / "made"


def test_every_verb_of_a_line_is_made() -> None:
    calls = [each for each in ast.walk(ast.parse(Path(line.__file__).read_text())) if isinstance(each, ast.Call)]
    asked = [each.args[0] for each in calls if isinstance(each.func, ast.Attribute) and each.func.attr == "_call"]
    verbs = {each.id for each in asked if isinstance(each, ast.Name)}
    assert verbs == {verb.__name__ for verb in made.OFTEN + made.SELDOM}  # type: ignore[attr-defined]


@needs_compiler
def test_runs_are_plain_until_there_is_compiled_code(mark: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[str] = []
    monkeypatch.setattr(made, "_have_made", lambda lacking: told.append(lacking.name))
    case = make_case()
    case = replace(case, run=replace(case.run, length=5 * DAY))
    name = case.policies[0].name
    with made.plain_first(lambda: told.append("told")):
        plain = [simulate(case, name) for _ in range(2)]
        assert not made.all_compiled()
        mark.touch()
        compiled = simulate(case, name)
        assert not made.all_compiled()  # of three runs two were plain
    assert told == ["told", "made"]
    assert plain == [compiled, compiled]
    with made.plain_first(None):
        simulate(case, name)
    assert made.all_compiled()


@needs_compiler
def test_many_runs_wait_while_another_process_makes_it(mark: Path) -> None:
    with mark.with_name("making").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        began = time.perf_counter()
        threading.Timer(0.3, lambda: fcntl.flock(lock, fcntl.LOCK_UN)).start()
        with made.plain_first(lambda: None), made.waiting():
            assert made.has_compiled()
        assert time.perf_counter() - began > 0.25


def test_one_process_makes_it_without_the_terminal(mark: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[dict[str, Any]] = []
    monkeypatch.setattr(made, "_makers", [])
    monkeypatch.setattr(subprocess, "Popen", lambda words, **given: started.append(given))
    with mark.with_name("making").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        made._have_made(mark)
        assert started == []
    made._have_made(mark)
    (given,) = started
    assert given["start_new_session"]
    assert {given["stdin"], given["stdout"], given["stderr"]} == {subprocess.DEVNULL}


def test_a_request_for_compiled_or_plain_code_is_obeyed(mark: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for asked, lacking in (("1", False), ("0", False), ("", is_compiled())):
        monkeypatch.setenv("FILTERRUN_PLAIN", asked)
        assert made.is_lacking() == lacking
