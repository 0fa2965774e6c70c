"""What an oxidant in the water does to what it meets there, before any bed."""

from hydraulics.compiled import routine
from hydraulics.oxidation import air_converted
from hydraulics.stoichiometry import BREAKPOINT, CHLORINE_PER_AMMONIA, EQUIVALENTS, converted

BY_CHLORINE, BY_PERMANGANATE = EQUIVALENTS["free_chlorine"], EQUIVALENTS["permanganate"]
IRON_NEEDS, MANGANESE_NEEDS = EQUIVALENTS["iron"], EQUIVALENTS["manganese"]
SULPHIDE_NEEDS, SULPHATE_NEEDS = EQUIVALENTS["sulphide to sulphur"], EQUIVALENTS["sulphide to sulphate"]
BREAKS = BREAKPOINT / CHLORINE_PER_AMMONIA - 1.0
"""g/g, free chlorine that takes away a gram of combined chlorine."""


@routine
def reacted(
    sulphate: bool, air: float, sulphide: float, iron: float, manganese: float, ammonia: float, free: float,
    combined: float, permanganate: float,
) -> tuple[float, float, float, float, float, float, float]:  # fmt: skip
    """What is left once all have met, by stoichiometry: permanganate first, then free chlorine, then air.

    Permanganate converts sulphide, then iron, then manganese; free chlorine sulphide, then iron. What is left of it
    binds ammonia as combined chlorine, and beyond that takes away what it has bound: none is left at the breakpoint.
    Air converts iron, at its rate.

    sulphate: whether sulphide becomes sulphate, else sulphur; air: rate at which it oxidises iron times the contact,
    0 for no air [-]; all others: 0 or more [g/m3]. Returns sulphide, iron, manganese, ammonia, free and combined
    chlorine, permanganate [g/m3].
    Source: stoichiometry, at once and to the end; the order is common practice, from memory.

    Hand arithmetic: a gram of nitrogen binds 5.06 of 6 g of chlorine, and the rest takes 1.88 of that away.
    >>> [round(each, 2) for each in reacted(False, 0.0, 0.0, 0.0, 0.0, 1.0, 6.0, 0.0, 0.0)][3:6]
    [0.0, 0.0, 3.19]
    """
    need = SULPHATE_NEEDS if sulphate else SULPHIDE_NEEDS
    if permanganate > 0.0:
        sulphide, permanganate = converted(sulphide, permanganate, need / BY_PERMANGANATE)
        iron, permanganate = converted(iron, permanganate, IRON_NEEDS / BY_PERMANGANATE)
        manganese, permanganate = converted(manganese, permanganate, MANGANESE_NEEDS / BY_PERMANGANATE)
    if free > 0.0:
        sulphide, free = converted(sulphide, free, need / BY_CHLORINE)
        iron, free = converted(iron, free, IRON_NEEDS / BY_CHLORINE)
        before = ammonia
        ammonia, free = converted(ammonia, free, CHLORINE_PER_AMMONIA)
        formed, free = converted(CHLORINE_PER_AMMONIA * (before - ammonia), free, BREAKS)
        combined += formed
    if air > 0.0:
        iron -= air_converted(iron, air, 1.0)
    return sulphide, iron, manganese, ammonia, free, combined, permanganate
