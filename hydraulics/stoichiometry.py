"""What reacts with how much of what, from atomic masses: grams for each gram, and electrons for each gram.

Hardness counts as calcium carbonate, iron, manganese and ammonia as their element (Fe, Mn, N), sulphide as H2S, both
kinds of chlorine as Cl2, permanganate as KMnO4, salt as NaCl. Manganese ends as MnO2, iron as Fe(OH)3, permanganate
as MnO2.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from hydraulics.compiled import law
from hydraulics.constants import (
    CALCIUM,
    CARBON,
    CHLORINE,
    HYDROGEN,
    IRON,
    MANGANESE,
    NITROGEN,
    OXYGEN,
    POTASSIUM,
    SODIUM,
    SULFUR,
)

CALCIUM_CARBONATE: Final = CALCIUM + CARBON + 3.0 * OXYGEN
CALCIUM_OXIDE: Final = CALCIUM + OXYGEN
CHLORINE_GAS: Final = 2.0 * CHLORINE
HYDROGEN_SULPHIDE: Final = 2.0 * HYDROGEN + SULFUR
IRON_HYDROXIDE: Final = IRON + 3.0 * (OXYGEN + HYDROGEN)
MANGANESE_DIOXIDE: Final = MANGANESE + 2.0 * OXYGEN
PERMANGANATE: Final = POTASSIUM + MANGANESE + 4.0 * OXYGEN
SALT: Final = SODIUM + CHLORINE
"""g/mol, molar masses by the atomic masses of `constants`."""

EQUIVALENTS: Final[Mapping[str, float]] = MappingProxyType(
    {
        "iron": 1.0 / IRON,
        "manganese": 2.0 / MANGANESE,
        "sulphide to sulphur": 2.0 / HYDROGEN_SULPHIDE,
        "sulphide to sulphate": 8.0 / HYDROGEN_SULPHIDE,
        "free_chlorine": 2.0 / CHLORINE_GAS,
        "combined_chlorine": 2.0 / CHLORINE_GAS,
        "permanganate": 3.0 / PERMANGANATE,
    }
)
"""eq/g, electrons that a gram gives or takes: Fe(II) to Fe(III), Mn(II) to MnO2, KMnO4 to MnO2, Cl2 to chloride."""

SALT_PER_HARDNESS: Final = 2.0 * SALT / CALCIUM_CARBONATE
"""g NaCl per g CaCO3: two sodium for each calcium, the least salt that frees a resin of it."""
HARDNESS_PER_IRON: Final = CALCIUM_CARBONATE / IRON
HARDNESS_PER_MANGANESE: Final = CALCIUM_CARBONATE / MANGANESE
"""g CaCO3 per g: the place on a resin that a metal of two charges takes."""
IRON_FLOC: Final = IRON_HYDROXIDE / IRON
MANGANESE_FLOC: Final = MANGANESE_DIOXIDE / MANGANESE
PERMANGANATE_FLOC: Final = MANGANESE_DIOXIDE / PERMANGANATE
SULPHUR_FLOC: Final = SULFUR / HYDROGEN_SULPHIDE
"""g/g: dry Fe(OH)3 of iron, MnO2 of manganese and of permanganate used, sulphur of H2S."""
CHLORINE_PER_AMMONIA: Final = CHLORINE_GAS / NITROGEN
BREAKPOINT: Final = 1.5 * CHLORINE_GAS / NITROGEN
"""g Cl2 per g N: bound as NH2Cl, and where all nitrogen is gone as N2, three chlorine for two ammonia."""
FREE_PER_PERMANGANATE: Final = EQUIVALENTS["permanganate"] / EQUIVALENTS["free_chlorine"]
"""g Cl2 that oxidises as much as a gram of KMnO4."""


@law
def converted(reduced: float, oxidant: float, need: float) -> tuple[float, float]:
    """What is left of a substance and of the oxidant that meets it, once one of them is spent.

    max(r - o / need, 0), max(o - need r, 0)

    reduced, oxidant: r, o, 0 or more [g/m3, or both in g]; need: oxidant for each gram of the substance, above 0
    [g/g]. Returns both that are left, in the same unit; one of them is 0.
    Source: stoichiometry, at once and to the end.

    Hand arithmetic: 3 of chlorine at 0.6 a gram are enough for 5, and 6 of it leave 3.
    >>> converted(7.0, 3.0, 0.6), converted(5.0, 6.0, 0.6)
    ((2.0, 0.0), (0.0, 3.0))
    """
    if need * reduced <= oxidant:
        return 0.0, oxidant - need * reduced
    return max(reduced - oxidant / need, 0.0), 0.0
