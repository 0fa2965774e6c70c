"""Exact: errors survive being rebuilt from their arguments, which is what the event engine does."""

import pickle

from hydraulics.errors import DomainError, FilterrunError


def test_a_domain_error_says_what_was_given_and_what_is_allowed():
    error = DomainError("porosity", "1.2", "above 0 and below 1")
    assert str(error) == "porosity: given 1.2, allowed above 0 and below 1"
    assert isinstance(error, FilterrunError)
    assert isinstance(error, ValueError)


def test_a_domain_error_is_rebuilt_whole():
    error = DomainError("porosity", "1.2", "above 0 and below 1")
    assert str(type(error)(*error.args)) == str(error)
    assert str(pickle.loads(pickle.dumps(error))) == str(error)
