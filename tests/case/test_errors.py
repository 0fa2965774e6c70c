"""Exact: the errors of a case keep what they say when copied, pickled or rebuilt from their arguments."""

import pickle

import pytest

from hydraulics.errors import FilterrunError
from sim.errors import CaseError, Problem, RefusedValue

PROBLEM = Problem("a.toml", 3, "run.length", '"4"', "a duration", "a unit")
ERRORS = [CaseError((PROBLEM,)), RefusedValue('"4"', "a duration", "a unit")]


@pytest.mark.parametrize("error", ERRORS, ids=lambda error: type(error).__name__)
def test_rebuilt_errors_say_the_same(error: FilterrunError) -> None:
    assert str(type(error)(*error.args)) == str(error)
    assert str(pickle.loads(pickle.dumps(error))) == str(error)
    assert isinstance(error, FilterrunError)


def test_message_of_a_problem() -> None:
    said = 'given "4"; allowed: a duration; try: a unit'
    assert str(PROBLEM) == f"a.toml, line 3: run.length: {said}"
    assert str(Problem("a.toml", None, "", '"4"', "a duration", "a unit")) == f"a.toml: {said}"
    assert str(CaseError((PROBLEM, PROBLEM))) == f"{PROBLEM}\n{PROBLEM}"
