"""Exact: the examples in the docstrings."""

import doctest
import importlib
import pkgutil

import pytest

import sim.case

MODULES = ["sim.errors", *(module.name for module in pkgutil.iter_modules(sim.case.__path__, "sim.case."))]


@pytest.mark.parametrize("name", MODULES)
def test_docstring_examples(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0
