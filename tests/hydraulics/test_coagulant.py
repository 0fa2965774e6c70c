"""Solids of a coagulant against molar masses worked out apart, and against published figures."""

import pytest
from chemicals.elements import molecular_weight

from hydraulics.coagulant import PRODUCTS, hydroxide_formed, typical_solids
from hydraulics.errors import DomainError

# Atoms of the formula that is dosed, atoms of the hydroxide that all its metal makes.
FORMULAS = {
    "alum": ({"Al": 2, "S": 3, "O": 12 + 14, "H": 28}, {"Al": 2, "O": 6, "H": 6}),
    "ferric chloride": ({"Fe": 1, "Cl": 3}, {"Fe": 1, "O": 3, "H": 3}),
    "ferric sulfate": ({"Fe": 2, "S": 3, "O": 12}, {"Fe": 2, "O": 6, "H": 6}),
    "aluminium": ({"Al": 1}, {"Al": 1, "O": 3, "H": 3}),
    "iron": ({"Fe": 1}, {"Fe": 1, "O": 3, "H": 3}),
}


@pytest.mark.parametrize("name", PRODUCTS)
def test_by_the_atomic_masses_of_a_public_library(name: str) -> None:
    """Source: the library `chemicals`, whose atomic masses have more digits than the abridged ones here."""
    dosed, formed = FORMULAS[name]
    assert typical_solids(name).value == pytest.approx(molecular_weight(formed) / molecular_weight(dosed), rel=1e-4)


@pytest.mark.parametrize(
    ("name", "solids"),
    [
        ("ferric chloride", 0.66),  # Sincero & Sincero, example 12.7
        ("ferric sulfate", 0.53),  # the same
        ("alum", 0.26),  # Davis (2010), dry: from memory
        ("aluminium", 2.89),  # by hand: 78.00 / 26.98
        ("iron", 1.91),  # by hand: 106.9 / 55.85
    ],
)
def test_by_published_figures(name: str, solids: float) -> None:
    assert round(typical_solids(name).value, 2) == solids


def test_a_product_and_its_metal_tell_the_same() -> None:
    """A gram of alum holds 2 x 26.982 / 594.342 g of aluminium: dosed by either, it forms the same."""
    assert typical_solids("alum").value == pytest.approx(
        typical_solids("aluminium").value * 2 * 26.982 / PRODUCTS["alum"].molar_mass, rel=1e-12
    )


@pytest.mark.parametrize("name", PRODUCTS)
def test_the_range_reaches_from_dry_hydroxide_to_bound_water(name: str) -> None:
    usual = typical_solids(name)
    assert usual.low == usual.value
    assert usual.high / usual.value == pytest.approx(0.44 / 0.26)


@pytest.mark.parametrize("given", [(0.0, 55.8, 1), (162.2, 0.0, 1), (162.2, 55.8, 0), (float("nan"), 55.8, 1)])
def test_what_is_no_formula_is_refused(given: tuple[float, float, int]) -> None:
    with pytest.raises(DomainError):
        hydroxide_formed(*given)
