"""Exact: the examples in the docstrings, and that every law has one."""

import doctest
import importlib
import inspect
import pkgutil

import pytest

import hydraulics

MODULES = [
    *(module.name for module in pkgutil.iter_modules(hydraulics.__path__, "hydraulics.")),
    "tests.cross_checks",
]
CHECKED_ELSEWHERE = {  # against published figures, in tests/published
    "hydraulics.capture.collector_efficiency",
    "tests.cross_checks.yao_efficiency",
}


@pytest.mark.parametrize("name", MODULES)
def test_docstring_examples(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0


@pytest.mark.parametrize("name", sorted(set(MODULES) - {"hydraulics.compiled"}))
def test_every_public_function_has_an_example_and_a_source(name):
    module = importlib.import_module(name)
    for called, function in inspect.getmembers(module):
        path = f"{name}.{called}"
        if (
            called.startswith("_")
            or getattr(function, "__module__", None) != name
            or inspect.isclass(function)
        ):
            continue
        text = inspect.getdoc(function) or ""
        assert ">>> " in text or path in CHECKED_ELSEWHERE, path
        assert "Source: " in text or name in ("hydraulics.decay", "hydraulics.powers"), path
