"""Exact: compiled laws answer as the plain ones do, and are never answered from an outdated file."""

import importlib
import os
import pkgutil
import random
import subprocess
import sys
import textwrap
from pathlib import Path
from types import FunctionType
from typing import Any, NamedTuple

import numpy as np
import pytest

import hydraulics
from hydraulics.capture import (
    coefficient_at_rate,
    coefficient_in_water,
    deposit_gain,
    exchange,
    outlet_share,
    ripening_mean,
    ultimate_deposit_at_rate,
)
from hydraulics.compiled import compile_entry, compile_kernel, is_compiled, law, routine, used_fields
from hydraulics.decay import decay_mean
from hydraulics.fluidise import (
    bulk_density,
    buoyant_gradient,
    ergun_porosity,
    ergun_velocity,
    expanded_depth,
    galileo_number,
    richardson_zaki_exponent,
    richardson_zaki_porosity,
    wen_yu_velocity,
)
from hydraulics.headloss import (
    ergun_gradient,
    grain_reynolds,
    inertial_factor,
    linear_growth_gradient,
    mat_loss,
    narrowed_porosity,
    square_law_loss,
    viscous_factor,
)
from hydraulics.oxidation import air_converted
from hydraulics.pipes import static_pressure
from hydraulics.powers import cube, square
from hydraulics.reaction import reacted
from hydraulics.rinse import remaining_both
from hydraulics.settle import haider_levenspiel_drag, terminal_velocity
from hydraulics.shear import cleaning_factor, shear_factor, sublayer_cleaning
from hydraulics.stoichiometry import converted
from hydraulics.wash import attached_after, vessel_solids_after

needs_compiler = pytest.mark.skipif(not is_compiled(), reason="numba is not there, or FILTERRUN_PLAIN is set")


def every_law(x: float, y: float, z: float, tanks: int) -> tuple[float, ...]:
    """Every law once, at arguments spread by three numbers between 0 and 1."""
    v, size, porosity, mu, rho = 0.01 * x, 1e-3 * (0.2 + y), 0.3 + 0.4 * z, 1e-3 * (0.5 + x), 990.0 + 10.0 * y
    return (
        exchange(5.0 * x, 5.0 * y),
        deposit_gain(x, 10.0 * y, 9000.0, load=5000.0 * z),
        outlet_share(8.0 * x, 8.0 * y),
        coefficient_at_rate(10.0, v, 0.003, exponent=z),
        coefficient_in_water(10.0, mu, 1e-3, exponent=z),
        ultimate_deposit_at_rate(9000.0, v, 0.003, exponent=0.25 * z),
        ripening_mean(x, x + y, z, ripening_volume=2.0),
        decay_mean(20.0 * x - 10.0 * y),
        viscous_factor(porosity),
        inertial_factor(porosity),
        ergun_gradient(
            v, mu, rho, size=size, sphericity=0.8, porosity=porosity, viscous=150.0, inertial=1.75
        ),
        grain_reynolds(v, size, sphericity=0.8, rho=rho, mu=mu),
        narrowed_porosity(porosity, 12_000.0 * x, 30_000.0, floor=0.05),
        linear_growth_gradient(5.0, 1000.0 * y, v=v, v_ref=0.003, mu=mu, mu_ref=1e-3),
        square_law_loss(4e9, v),
        mat_loss(1e10, mu, v, mass_per_area=100.0 * y),
        *remaining_both(3.0 * x, tanks),
        *converted(10.0 * x, 10.0 * y, 0.2 + z),
        air_converted(10.0 * x, 0.01 * y, 600.0 * z),
        *reacted(x > y, z, 2.0 * x, 3.0 * y, z, 0.5 * x * y, 8.0 * z, 3.0 * x, 9.0 * y * z),
        attached_after(100.0, 0.01 * y, 600.0 * z),
        vessel_solids_after(
            10.0, 900.0 * x, 0.02 * y, seconds=600.0 * z, flow=0.01 * x, water_volume=0.5, water_solids=4.0
        ),
    )


def every_law_of_a_wash(x: float, y: float, z: float, tanks: int) -> tuple[float, ...]:
    """The rest of them: fluidisation, settling, shear."""
    v, size, porosity, mu, rho = 0.02 * x, 1e-3 * (0.2 + y), 0.3 + 0.4 * z, 1e-3 * (0.5 + x), 990.0 + 10.0 * y
    return (
        galileo_number(mu, rho, size=size, grain_density=2650.0),
        wen_yu_velocity(mu, rho, size=size, grain_density=2650.0),
        ergun_velocity(
            porosity, mu, rho, size=size, sphericity=0.8, grain_density=2650.0, viscous=150.0, inertial=1.75
        ),
        ergun_porosity(v, mu, rho, size=size, sphericity=0.8, grain_density=2650.0, viscous=150.0, inertial=1.75),
        richardson_zaki_exponent(1e5 * v),
        richardson_zaki_porosity(v, 0.05, 3.2),
        expanded_depth(0.5, 0.3, porosity),
        bulk_density(porosity, 2650.0, rho),
        buoyant_gradient(porosity, 2650.0, rho),
        haider_levenspiel_drag(1e5 * v, porosity),
        terminal_velocity(mu, rho, size=size, sphericity=0.8, grain_density=2650.0),
        static_pressure(porosity, rho),
        square(x),
        cube(x),
        shear_factor(porosity, 3.2),
        cleaning_factor(v, 0.005, porosity=porosity, exponent=3.2),
        sublayer_cleaning(
            v, mu, rho, size=size, sphericity=0.8, porosity=porosity, grain_density=2650.0,
            viscous=150.0, inertial=1.75,
        ),
    )  # fmt: skip


def laws_of_this_package():
    modules = [
        importlib.import_module(f"hydraulics.{m.name}") for m in pkgutil.iter_modules(hydraulics.__path__)
    ]
    marked = importlib.import_module("hydraulics.compiled")._laws
    return {name for module in modules for name, value in vars(module).items()
            if isinstance(value, FunctionType) and value in marked}  # fmt: skip


def test_the_kernels_above_call_every_law():
    called = set(every_law.__code__.co_names) | set(every_law_of_a_wash.__code__.co_names)
    assert laws_of_this_package() == called


@needs_compiler
@pytest.mark.parametrize("kernel", [every_law, every_law_of_a_wash])
def test_compiled_laws_give_what_plain_ones_give_to_the_bit(kernel):
    compiled = compile_kernel(kernel)
    assert compiled is not kernel
    draw = random.Random(7)
    for _ in range(3000):
        numbers = (draw.random(), draw.random(), draw.random(), draw.randint(1, 12))
        assert compiled(*numbers) == kernel(*numbers)
    edges = (0.0, 0.0, 0.0, 1)
    assert compiled(*edges) == kernel(*edges)


@needs_compiler
def test_a_kernel_is_compiled_once():
    assert compile_kernel(every_law) is compile_kernel(every_law)


VESSELS = np.dtype([("depth", "f8"), ("number", "i8")], align=True)


class Plumbing(NamedTuple):
    vessels: Any
    taps: Any


DTYPES = Plumbing(VESSELS, VESSELS)


def pour(volume: float, times: int, double: bool, line: Plumbing) -> tuple[float, int]:
    vessel = line.vessels[0]
    for _ in range(times):
        vessel.depth += volume * (2.0 if double else 1.0)
    vessel.number += times
    return vessel.depth, vessel.number


def test_an_entry_does_what_the_function_does_to_the_rows_it_is_given():
    """Whole numbers where the annotation says float included, as a case may hold them."""
    found = []
    for run in (pour, compile_entry(pour, DTYPES)):
        vessels = np.zeros(1, VESSELS)
        rows = vessels if is_compiled() and run is not pour else vessels.view(np.recarray)
        line = Plumbing(rows, None)
        found.append([run(0.25, 3, True, line), run(2, 1, False, line), vessels.tolist()])
    assert found[0] == found[1] == [(1.5, 3), (3.5, 4), [(3.5, 4)]]


@needs_compiler
def test_an_entry_is_compiled_for_its_annotations_alone():
    assert compile_entry(pour, DTYPES) is compile_entry(pour, DTYPES) is not pour
    with pytest.raises(KeyError):
        compile_entry(pour, Other(VESSELS))


class Other(NamedTuple):
    vessels: Any


@law
def tap_number(line: Plumbing) -> int:
    return line.taps[0].number


def opened(line: Plumbing) -> int:
    return tap_number(line)


def test_the_fields_that_a_function_uses_are_those_that_its_laws_name_too():
    assert used_fields(pour, DTYPES) == {"vessels"}
    assert used_fields(opened, DTYPES) == {"taps"}


@routine
def emptied(volume: float) -> float:
    return volume - 1.0


def emptied_twice(volume: float) -> float:
    return emptied(emptied(volume))


@needs_compiler
def test_a_routine_gives_what_it_gives_plainly_and_is_not_forced_into_its_callers():
    compiled = compile_kernel(emptied_twice)
    assert compiled(5.0) == emptied_twice(5.0) == 3.0
    assert compiled.targetoptions["forceinline"]
    assert not compile_kernel(emptied).targetoptions["forceinline"]


def test_marking_a_law_changes_nothing():
    def twice(x: float) -> float:
        return 2.0 * x

    assert law(twice) is twice


LAW = """
    from hydraulics.compiled import law
    from hydraulics.headloss import viscous_factor

    from bed_scale import SCALE

    @law
    def scaled(porosity: float) -> float:
        return SCALE * viscous_factor(porosity)
"""
KERNEL = """
    import sys
    from hydraulics.compiled import compile_kernel
    from bed_law import scaled

    def bed(porosity: float, cells: int) -> float:
        total = 0.0
        for _ in range(cells):
            total += scaled(porosity)
        return total

    kernel = compile_kernel(bed)
    value = kernel(0.5, 2)
    hits = None if kernel is bed else sum(kernel.stats.cache_hits.values())
    print(value, hits, kernel is bed, sys.modules.get("numba") is not None)
"""


def run_kernel(folder: Path, **environment: str) -> list[str]:
    """Value, cache hits, whether the function came back plain, and whether numba was loaded."""
    inherited = {k: v for k, v in os.environ.items() if k not in ("FILTERRUN_PLAIN", "NUMBA_CACHE_DIR")}
    paths = os.pathsep.join([str(Path(hydraulics.__file__).parents[1]), str(folder)])
    command = [sys.executable, "-W", "error", str(folder / "bed_kernel.py")]
    environment = inherited | {"PYTHONPATH": paths} | environment
    done = subprocess.run(command, capture_output=True, text=True, check=True, env=environment)
    return done.stdout.split()


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "bed_scale.py").write_text("SCALE = 3.0")
    (tmp_path / "bed_law.py").write_text(textwrap.dedent(LAW))
    (tmp_path / "bed_kernel.py").write_text(textwrap.dedent(KERNEL))
    return tmp_path


@needs_compiler
def test_compiled_code_is_kept_between_processes_until_a_source_changes(folder):
    cache = str(folder / "cache")
    assert run_kernel(folder, NUMBA_CACHE_DIR=cache) == ["12.0", "0", "False", "True"]
    assert run_kernel(folder, NUMBA_CACHE_DIR=cache) == ["12.0", "1", "False", "True"]
    (folder / "bed_law.py").write_text(textwrap.dedent(LAW).replace("return SCALE", "return 2.0 * SCALE"))
    assert run_kernel(folder, NUMBA_CACHE_DIR=cache) == ["24.0", "0", "False", "True"]
    (folder / "bed_scale.py").write_text("SCALE = 5.0")
    assert run_kernel(folder, NUMBA_CACHE_DIR=cache) == ["40.0", "0", "False", "True"]
    assert run_kernel(folder, NUMBA_CACHE_DIR=cache) == ["40.0", "1", "False", "True"]


@pytest.mark.long
@needs_compiler
def test_a_folder_of_ones_own_keeps_compiled_code(folder):
    (folder / "home").mkdir()
    own = {"HOME": str(folder / "home"), "XDG_CACHE_HOME": "", "LOCALAPPDATA": ""}
    assert run_kernel(folder, **own)[1] == "0"
    assert run_kernel(folder, **own)[1] == "1"


@pytest.mark.long
@needs_compiler
def test_without_a_folder_to_write_to_kernels_still_compile(folder):
    (folder / "file").write_text("in the way")
    blocked = {"NUMBA_CACHE_DIR": str(folder / "file")}
    assert run_kernel(folder, **blocked) == ["12.0", "0", "False", "True"]
    assert run_kernel(folder, **blocked) == ["12.0", "0", "False", "True"]


def test_plain_python_on_request_does_not_load_the_compiler(folder):
    assert run_kernel(folder, FILTERRUN_PLAIN="1") == ["12.0", "None", "True", "False"]


def test_plain_python_where_there_is_no_compiler(folder):
    (folder / "numba.py").write_text("raise ModuleNotFoundError('not installed', name='numba')")
    assert run_kernel(folder) == ["12.0", "None", "True", "False"]
