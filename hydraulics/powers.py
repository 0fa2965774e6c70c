"""Whole powers as products: `x**3` is rounded otherwise by compiled code than by Python, a product is not."""

from hydraulics.compiled import law


@law
def square(x: float) -> float:
    """x x, of any number.

    >>> square(-3.0)
    9.0
    """
    return x * x


@law
def cube(x: float) -> float:
    """x x x, of any number.

    >>> cube(-3.0)
    -27.0
    """
    return x * x * x
