"""Exact: physics stays cheap to import and depends on nothing of ours."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import hydraulics

FOLDER = Path(hydraulics.__file__).parent
MODULES = sorted(file.stem for file in FOLDER.glob("*.py"))
HEAVY = {"numba", "numpy", "scipy", "pandas", "chemicals", "fluids", "matplotlib", "simpy"}


def test_importing_every_module_loads_nothing_heavy():
    imports = "; ".join(f"import hydraulics.{module}" for module in MODULES if module != "__init__")
    script = f"import sys; {imports}; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True,
                            cwd=FOLDER.parent).stdout.split()  # fmt: skip
    assert "hydraulics.capture" in loaded
    assert HEAVY.isdisjoint(name.split(".")[0] for name in loaded)


@pytest.mark.parametrize("module", MODULES)
def test_modules_import_the_standard_library_their_own_package_and_three_libraries(module):
    allowed = sys.stdlib_module_names | {"hydraulics", "chemicals", "fluids", "numba"}
    for node in ast.walk(ast.parse((FOLDER / f"{module}.py").read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            assert {alias.name.split(".")[0] for alias in node.names} <= allowed
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0
            assert (node.module or "").split(".")[0] in allowed
