"""Laws are written once, as plain scalar Python; a kernel that calls them is compiled on demand.

`law` marks a function as fit for compilation and changes nothing else, so importing the laws stays cheap.
`routine` does the same for a large function with several callers, or one that is seldom called: it is compiled once
and not into each of them.
`compile_kernel` returns the machine-code version of a function together with every law it calls.

A kernel names its laws by `from module import law_name`. A law reached through its module
(`headloss.mat_loss(...)`) cannot be exchanged for its compiled twin and is refused with a message.

Compiled code is kept on disk in a folder named after a hash of every source that went into it, so an edited
law is never answered from an old file. `NUMBA_CACHE_DIR` moves the folder, `FILTERRUN_PLAIN=1` switches
compilation off; without numba everything runs as plain Python.
"""

import hashlib
import inspect
import os
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache
from importlib import import_module
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any, TypeVar, cast

from hydraulics.errors import CompilerError

# All that the program uses of numba beyond what it documents stands in this file: options `_nrt` and `no_*_wrapper`,
# `config.CACHE_DIR` while it decorates, `compile` of a dispatcher and what that returns, what a `Part` overrides.
# Seen working in:
TRIED = ("0.68",)
# Nothing that is compiled here makes arrays, so none are counted in and out (`_nrt`).
OPTIONS: Mapping[str, Any] = {"nogil": True, "error_model": "numpy", "_nrt": False}

Function = TypeVar("Function", bound=Callable[..., Any])

_laws: set[FunctionType] = set()
_routines: set[FunctionType] = set()
_kernels: dict[tuple[FunctionType, bool], Any] = {}


def law(function: Function) -> Function:
    """Mark a scalar function as compilable and return it unchanged.

    The function takes and returns numbers, keeps no state, makes no arrays, and calls nothing but `math` and other
    laws.
    """
    _laws.add(cast(FunctionType, function))
    return function


def routine(function: Function) -> Function:
    """Mark a function as `law` does, but as one that stays a function of its own where others call it.

    Copies of it in all of its callers would take long to compile and save little.
    """
    _routines.add(cast(FunctionType, function))
    return law(function)


def is_compiled() -> bool:
    """Whether `compile_kernel` compiles here and now; answering it imports numba."""
    return os.environ.get("FILTERRUN_PLAIN") != "1" and _numba() is not None


def compile_kernel(function: Function) -> Function:
    """Return the compiled version of a function and of the laws it calls, or the function itself.

    The result takes the same arguments. Keyword-only ones may also be given by position, which is how the
    compiler sees them. A division by zero gives inf or nan where plain Python raises ZeroDivisionError: laws
    and kernels keep their divisors away from zero. Without `is_compiled()` the function itself comes back.

    Raises TypeError when a law is called through its module.
    """
    if not is_compiled():
        return function
    return cast(Function, _compiled(cast(FunctionType, function), entered=True))


def compile_entry(function: Function, tables: Any, used: frozenset[str] | None = None) -> Function:
    """As `compile_kernel`, but for one set of types only, settled here and not looked at again in every call.

    Looking costs more than a small kernel does. `tables` is a named tuple of dtypes: an argument annotated with its
    class takes arrays of them, one-dimensional and contiguous, and None for all but the `used_fields`, since every
    array costs a call as much as a small kernel does. The others are float, int or bool, as annotated. Nothing checks
    what the result is given. `used` may name more fields: entries of the same fields share what they call, which is
    then compiled only once.
    """
    kernel = compile_kernel(function)
    if not is_compiled():
        return kernel
    numba = _numba()
    used = used or used_fields(function, tables)
    arrays = [
        numba.types.Array(numba.from_dtype(dtype), 1, "C") if name in used else numba.types.none
        for name, dtype in tables._asdict().items()
    ]
    types = {
        float: numba.float64,
        int: numba.int64,
        bool: numba.boolean,
        type(tables): numba.types.NamedTuple(arrays, type(tables)),
    }
    arguments = inspect.signature(function, eval_str=True).parameters.values()
    given = tuple(types[argument.annotation] for argument in arguments)
    try:
        return cast(Function, cast(Any, kernel).compile(given))
    except OSError:  # it is compiled, and could not be kept on disk: the disk is full, say
        return cast(Function, cast(Any, kernel).compile(given))


def used_fields(function: Callable[..., Any], tables: Any) -> frozenset[str]:
    """The fields of a named tuple that a function or any law it comes to call names, perhaps of something else."""
    named = set().union(*(_names(each.__code__) for each in _involved(cast(FunctionType, function))))
    return frozenset(named & set(tables._fields))


def kept_mark(*functions: Callable[..., Any]) -> Path | None:
    """The file whose being there says that the machine code of all these is kept; None where nothing can be kept."""
    folder = _cache_folder(*cast(tuple[FunctionType, ...], functions))
    made_for = f"{_numba().__version__}-{sys.implementation.cache_tag}-{_processor()}"
    return None if folder is None else folder / f"made-{made_for}"


@lru_cache(maxsize=1)
def _processor() -> str:
    return str(import_module("llvmlite.binding").get_host_cpu_name())


def _compiled(function: FunctionType, *, entered: bool = False) -> Any:
    """A function compiled to be entered from Python and kept on disk, or else to be called by compiled code only."""
    key = function, entered
    if key not in _kernels:
        numba = _numba()
        folder = _cache_folder(function) if entered else None
        before = numba.config.CACHE_DIR
        numba.config.CACHE_DIR = str(folder or "")
        try:  # numba settles where a function is kept while it decorates it
            options = {"cache": folder is not None, "forceinline": function not in _routines, **OPTIONS}
            if not entered:
                options |= {"no_cpython_wrapper": True, "no_cfunc_wrapper": True, "pipeline_class": _part_compiler()}
            _kernels[key] = numba.njit(**options)(_linked(function))
        finally:
            numba.config.CACHE_DIR = before
    return _kernels[key]


@lru_cache(maxsize=1)
def _part_compiler() -> Any:
    """How a function is compiled that only compiled code calls: no machine code of it, and no optimising by itself.

    What is entered takes it in and does both for the whole at once, not once more for each function on the way.
    """
    library: Any = import_module("numba.core.codegen").JITCodeLibrary
    compiler: Any = import_module("numba.core.compiler").Compiler

    class Part(library):  # type: ignore[misc]
        codegen = property(lambda self: self)

        def set_env(self, name: str, environment: Any) -> None:
            """Nothing here reads the environment, which serves errors and objects of Python."""

        def get_pointer_to_function(self, name: str) -> int:
            """There is no machine code to point to."""
            return 0

        def _optimize_final_module(self) -> None:
            pass

        def _finalize_final_module(self) -> None:
            self._finalize_dynamic_globals()
            self._verify_declare_only_symbols()
            self._finalized = True

    class PartCompiler(compiler):  # type: ignore[misc]
        def _compile_bytecode(self) -> Any:
            state = self.state
            state.library = Part(state.targetctx.codegen(), state.func_id.func_qualname)
            return super()._compile_bytecode()

    return PartCompiler


def _linked(function: FunctionType) -> FunctionType:
    """Rebuild a function so that the laws among its globals are their compiled versions."""
    names = {name: value for name, value in function.__globals__.items() if name.startswith("__")}
    for name, value in _referenced(function):
        names[name] = _compiled(cast(FunctionType, value)) if _is_law(value) else value
    code = function.__code__
    code = code.replace(  # numba knows no keyword-only arguments; after the others they are ordinary ones
        co_argcount=code.co_argcount + code.co_kwonlyargcount, co_kwonlyargcount=0
    )
    linked = FunctionType(code, names, function.__name__, function.__defaults__, function.__closure__)
    linked.__qualname__ = function.__qualname__
    linked.__module__ = function.__module__
    return linked


def _referenced(function: FunctionType) -> Iterator[tuple[str, object]]:
    """The globals a function uses, by name."""
    names = _names(function.__code__)
    for name in sorted(names & function.__globals__.keys()):
        value = function.__globals__[name]
        if isinstance(value, ModuleType):
            for attribute in (names & vars(value).keys()) - function.__globals__.keys():
                if _is_law(vars(value)[attribute]):
                    raise TypeError(
                        f"{function.__module__}.{function.__qualname__} calls {name}.{attribute}: "
                        f"write `from {value.__name__} import {attribute}` and call it by its name"
                    )
        yield name, value


def _names(code: CodeType) -> set[str]:
    nested = (_names(constant) for constant in code.co_consts if isinstance(constant, CodeType))
    return set(code.co_names).union(*nested)


def _is_law(value: object) -> bool:
    return isinstance(value, FunctionType) and value in _laws


@lru_cache(maxsize=1)
def _numba() -> Any:
    """The compiler, None where it is not installed; CompilerError where it is and cannot be used."""
    try:
        import numba
    except ModuleNotFoundError as error:
        if error.name == "numba":
            return None
        raise CompilerError(str(error)) from error
    except Exception as error:
        raise CompilerError(f"{type(error).__name__}: {error}") from error
    if not hasattr(numba, "njit"):
        where = getattr(numba, "__file__", None) or "a folder"
        raise CompilerError(f"what is found under this name is {where}, which is no compiler")
    return numba


def _cache_folder(*functions: FunctionType) -> Path | None:
    """A writable folder for exactly these sources, or None when nothing can be kept on disk."""
    try:
        folder = _cache_root() / "filterrun" / _fingerprint(*functions)
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        with tempfile.TemporaryFile(dir=folder):
            return folder
    except (OSError, RuntimeError):  # RuntimeError: this user has no home folder
        return None


def _cache_root() -> Path:
    for variable in ("NUMBA_CACHE_DIR", "XDG_CACHE_HOME", "LOCALAPPDATA"):
        if os.environ.get(variable):
            return Path(os.environ[variable])
    return Path.home() / ("Library/Caches" if sys.platform == "darwin" else ".cache")


def _involved(*functions: FunctionType) -> set[FunctionType]:
    """Functions and every law that they come to call."""
    waiting, seen = [*functions], {*functions}
    while waiting:
        laws = {cast(FunctionType, value) for _, value in _referenced(waiting.pop()) if _is_law(value)} - seen
        waiting += laws
        seen |= laws
    return seen


def _fingerprint(*functions: FunctionType) -> str:
    """Hash of this package, of the modules of all functions involved and of the constants they take in."""
    files = set(Path(__file__).parent.glob("*.py"))
    constants: list[str] = []
    for each in _involved(*functions):
        files.add(Path(each.__code__.co_filename))
        for name, value in _referenced(each):
            if isinstance(value, (bool, int, float, str, tuple)):
                constants.append(f"{name}={value!r}")
    digest = hashlib.sha256("\n".join(sorted(constants)).encode())
    for file in sorted(files):
        digest.update(file.read_bytes())
    return digest.hexdigest()[:24]
