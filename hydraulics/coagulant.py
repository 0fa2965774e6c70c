"""The solids that a coagulant forms: all of its metal as hydroxide, by atomic masses.

A small law without water chemistry: pH, alkalinity and colour decide how much of the metal comes down, and how much
water the hydroxide binds; neither is modelled.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from hydraulics.constants import ALUMINIUM, CHLORINE, HYDROGEN, IRON, OXYGEN, SULFUR
from hydraulics.errors import DomainError
from hydraulics.media import Constant

WATER: Final = 2.0 * HYDROGEN + OXYGEN
HYDROXIDE: Final = OXYGEN + HYDROGEN
SULFATE: Final = SULFUR + 4.0 * OXYGEN

BOUND_WATER: Final = 0.44 / 0.26
"""-, dry solids with the water that they may bind, over dry ones; of alum, from memory: Davis (2010)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A coagulant as it is dosed: molar mass [g/mol] of its formula, the metal in that and how many atoms of it."""

    name: str
    molar_mass: float
    metal: float
    atoms: int


PRODUCTS: Final[Mapping[str, Product]] = MappingProxyType(
    {
        product.name: product
        for product in (
            Product(name="alum", molar_mass=2.0 * ALUMINIUM + 3.0 * SULFATE + 14.0 * WATER, metal=ALUMINIUM, atoms=2),
            Product(name="ferric chloride", molar_mass=IRON + 3.0 * CHLORINE, metal=IRON, atoms=1),
            Product(name="ferric sulfate", molar_mass=2.0 * IRON + 3.0 * SULFATE, metal=IRON, atoms=2),
            Product(name="aluminium", molar_mass=ALUMINIUM, metal=ALUMINIUM, atoms=1),
            Product(name="iron", molar_mass=IRON, metal=IRON, atoms=1),
        )
    }
)
"""By the name in a case: Al2(SO4)3.14H2O, FeCl3, Fe2(SO4)3, and any product dosed by its aluminium or its iron."""


def hydroxide_formed(molar_mass: float, metal: float, atoms: int) -> float:
    """Dry hydroxide that a gram of a coagulant forms [g/g].

    atoms (metal + 3 OH) / molar mass: every atom of trivalent metal takes three hydroxides

    molar_mass: of the formula dosed, above 0 [g/mol]; metal: its atomic mass, above 0 [g/mol]; atoms: of metal in the
    formula, 1 or more [-]. Raises DomainError.
    Source: stoichiometry with the atomic masses of `constants`.

    Sincero & Sincero, example 12.7, has 0.66 for FeCl3 and 0.53 for Fe2(SO4)3.
    >>> [round(hydroxide_formed(*each), 2) for each in ((162.2, 55.85, 1), (399.9, 55.85, 2))]
    [0.66, 0.53]
    """
    if not molar_mass > 0.0:
        raise DomainError("molar mass", f"{molar_mass:g} g/mol", "above 0 g/mol")
    if not metal > 0.0:
        raise DomainError("atomic mass of the metal", f"{metal:g} g/mol", "above 0 g/mol")
    if atoms < 1:
        raise DomainError("atoms of metal in the formula", f"{atoms}", "1 or more")
    return atoms * (metal + 3.0 * HYDROXIDE) / molar_mass


def typical_solids(name: str) -> Constant:
    """Solids that a gram of a product of PRODUCTS forms [g/g], from dry hydroxide to hydroxide with bound water.

    Source: `hydroxide_formed`; the upper end from memory.

    By hand, alum: 2 x 78.00 / 594.3 = 0.2625, and 0.44 with bound water.
    >>> [round(each, 2) for each in (typical_solids("alum").value, typical_solids("alum").high)]
    [0.26, 0.44]
    """
    product = PRODUCTS[name]
    dry = hydroxide_formed(product.molar_mass, product.metal, product.atoms)
    return Constant(
        value=dry,
        low=dry,
        high=BOUND_WATER * dry,
        unit="-",
        source="dry hydroxide by atomic masses; bound water adds up to 70 %, from memory",
        assumed=True,
    )
