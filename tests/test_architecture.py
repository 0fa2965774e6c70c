"""Who may import whom, and what the program loads before it has anything to do."""

import ast
import json
import subprocess
import sys
import tomllib
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

# room: the rooms it may import. The errors, and how processes begin and end, may be known everywhere in sim.
ARROWS: dict[str, set[str]] = {
    "hydraulics": set(),
    "sim.case": {"hydraulics"},
    "sim.wash": {"sim.case", "hydraulics"},
    "sim.review": {"sim.wash", "sim.case", "hydraulics"},
    "sim.weather": {"sim.case", "hydraulics"},
    "sim.log": {"sim.case"},
    "sim.plant": {"sim.weather", "sim.wash", "sim.case", "hydraulics"},
    "sim.study": {"sim.plant", "sim.review", "sim.weather", "sim.wash", "sim.case", "hydraulics"},
    "sim.fit": {"sim.study", "sim.log", "sim.plant", "sim.weather", "sim.wash", "sim.case", "hydraulics"},
    "sim.write": {
        "sim.fit", "sim.study", "sim.plant", "sim.review", "sim.weather", "sim.wash", "sim.case", "hydraulics",
    },
    "sim.tell": {
        "sim.fit", "sim.log", "sim.study", "sim.review", "sim.plant", "sim.weather", "sim.wash", "sim.case", "plots",
    },
    "sim.lessons": {"sim.tell", "sim.study", "sim.plant", "sim.wash", "sim.case", "plots"},
    "sim.web": {
        "sim.write", "sim.lessons", "sim.tell", "sim.fit", "sim.study", "sim.log", "sim.case", "plots",
    },
    "sim.cli": {
        "sim.web", "sim.write", "sim.lessons", "sim.tell", "sim.fit", "sim.study", "sim.log", "sim.case", "plots",
    },
    "plots": set(),
}
ANYWHERE = {"hydraulics.errors", "sim.errors", "sim.processes"}
HEAVY = ("starlette", "uvicorn", "numpy", "pandas", "scipy", "simpy", "matplotlib", "numba", "jinja2", "xlsxwriter")


@cache
def modules() -> dict[str, Path]:
    """Every module of ours by dotted name, packages by their own name."""
    found = {}
    for top in ("hydraulics", "sim", "plots"):
        for path in sorted((ROOT / top).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


@cache
def imported(name: str, path: Path) -> set[str]:
    """Modules of ours that a module imports anywhere in its text, deferred imports included."""
    package = name if path.name == "__init__.py" else name.rpartition(".")[0]
    known = modules()
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            above = package.split(".")[: len(package.split(".")) - node.level + 1] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            found |= {f"{base}.{a.name}" if f"{base}.{a.name}" in known else base for a in node.names}
    return {each for each in found if each.split(".")[0] in ("hydraulics", "sim", "plots")}


def room(name: str) -> str | None:
    """The room that a module belongs to; None for `sim` itself and the module of errors beside it."""
    return next((each for each in ARROWS if name == each or name.startswith(f"{each}.")), None)


def forbidden(name: str, target: str) -> bool:
    """Whether a module of one room may not import this one."""
    if name in ("sim", "sim.errors", "sim.processes"):
        return target != "hydraulics.errors"
    here = room(name)
    if here is None or room(target) == here or (target in ANYWHERE and here.startswith("sim.")):
        return here is None
    return room(target) not in ARROWS[here]


def test_every_import_follows_an_arrow() -> None:
    known = modules()
    assert len(known) > 10
    wrong = [
        f"{name} imports {target}"
        for name, path in known.items()
        for target in sorted(imported(name, path))
        if forbidden(name, target)
    ]
    assert wrong == []


def test_no_imports_run_in_a_circle() -> None:
    """Within rooms too; deferred imports count."""
    TopologicalSorter({name: imported(name, path) - {name} for name, path in modules().items()}).prepare()
    with pytest.raises(CycleError):
        TopologicalSorter({"sim.a": {"sim.b"}, "sim.b": {"sim.a"}}).prepare()


def test_the_check_sees_a_wrong_import(tmp_path: Path) -> None:
    wrong = tmp_path / "laws.py"
    wrong.write_text("def f():\n    from sim.case.records import Case\n    return Case\n", encoding="utf-8")
    assert imported("hydraulics.laws", wrong) == {"sim.case.records"}
    assert forbidden("hydraulics.laws", "sim.case.records")
    assert forbidden("sim.case.load", "sim.plant.records")
    assert forbidden("sim.cli.run", "hydraulics.water")
    assert not forbidden("sim.cli.run", "hydraulics.errors")


def test_packages_are_listed_and_exist() -> None:
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]["packages"]
    found = {name for name, path in modules().items() if path.name == "__init__.py"}
    assert set(listed) == found


def loaded_by(*words: str) -> list[str]:
    """The heavy packages that a call of the program has loaded when it ends."""
    script = (
        "import json, sys\n"
        "from sim.cli import main\n"
        f"sys.argv = {['filterrun', *words]!r}\n"
        "try:\n    main()\n"
        "finally:\n    print(json.dumps(sorted(sys.modules)), file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    loaded = json.loads(done.stderr)
    assert "sim.cli" in loaded
    assert done.stdout.strip()
    return [name for name in HEAVY if name in loaded]


@pytest.mark.parametrize(
    "words",
    [
        ["--help"],
        ["compare", "--help"],
        ["run", "--help"],
        ["lesson"],
        ["weather", "--help"],
        ["advise", "--help"],
        ["payback", "--help"],
        ["page", "--help"],
        ["fit", "--help"],
        ["diagnose", "--help"],
        ["--version"],
    ],
)
def test_help_loads_nothing_heavy(words: list[str]) -> None:
    assert loaded_by(*words) == []


def test_check_does_not_load_what_a_run_needs() -> None:
    loaded = loaded_by("check", "cases/parts_hall.toml")
    assert not {"numba", "scipy", "pandas", "matplotlib", "simpy"} & set(loaded)
