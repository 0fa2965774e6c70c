"""What every check against a printed figure shares."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest


@pytest.fixture
def printed() -> Callable[[str], Any]:
    """A figure as its source prints it, equal to whatever rounds to it: half a unit of its last digit."""

    def as_printed(figure: str) -> Any:
        exact = Decimal(figure)
        exponent = exact.as_tuple().exponent
        assert isinstance(exponent, int)
        return pytest.approx(float(exact), rel=1e-15, abs=0.5 * 10.0**exponent)

    return as_printed
