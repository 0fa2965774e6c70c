"""Exact: a kernel that reaches a law through its module. In a file that does not import the law by name."""

import pytest

from hydraulics import headloss
from hydraulics.compiled import compile_kernel, is_compiled


def calls_through_the_module(porosity: float) -> float:
    return headloss.viscous_factor(porosity)


@pytest.mark.skipif(not is_compiled(), reason="numba is not there, or FILTERRUN_PLAIN is set")
def test_it_is_refused_with_what_to_write_instead():
    with pytest.raises(TypeError, match=r"write `from hydraulics\.headloss import viscous_factor`"):
        compile_kernel(calls_through_the_module)
