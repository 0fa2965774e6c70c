"""Brine of a salt tank: how much of it there is, how strong it is, how fast salt dissolves."""

import math
from typing import Final

from hydraulics.errors import DomainError

SALT_VOLUME: Final = 0.350e-6
"""m3/g, by which dissolved salt swells its water: from 1202.5 kg/m3 for 26 % by mass at 15 degC, Poradnik
fizykochemiczny (WNT, Warszawa 1974). Near saturation; at 10 % the volume comes out half a percent too large."""


def brine_volume(water: float, salt: float) -> float:
    """Volume of brine that water makes with what has dissolved in it.

    V + 0.35e-6 m

    water: V, 0 or more [m3]; salt: m dissolved, 0 or more [g]. Returns [m3]. Raises DomainError.
    Source: the density of brine, as `SALT_VOLUME`.

    Published: 26 % by mass at 15 degC weigh 1202.5 kg/m3; 740 kg of water are 0.7407 m3 there.
    >>> round(1e3 / brine_volume(740.0 / 999.1, 260e3), 1)
    1202.4
    """
    if not water >= 0.0:
        raise DomainError("water of a brine", f"{water:g} m3", "0 m3 or more")
    if not salt >= 0.0:
        raise DomainError("salt of a brine", f"{salt:g} g", "0 g or more")
    return water + SALT_VOLUME * salt


def brine_strength(water: float, salt: float) -> float:
    """Salt in each volume of brine.

    m / (V + 0.35e-6 m)

    water: V, above 0 [m3]; salt: m dissolved in it, 0 or more [g]. Returns [g NaCl per m3 of brine]. Raises
    DomainError.
    Source: as `brine_volume`.

    Hand arithmetic: 350 g in a litre of water are 1.1225 litres.
    >>> round(brine_strength(1e-3, 350.0) / 1e3, 3)
    311.804
    """
    if not water > 0.0:
        raise DomainError("water of a brine", f"{water:g} m3", "above 0 m3")
    return salt / brine_volume(water, salt)


def dissolved_after(dissolved: float, most: float, seconds: float, dissolving: float) -> float:
    """Salt dissolved in the water of a tank after it has stood.

    most - (most - dissolved) e^(-t / tau), at once where tau is 0, and what is dissolved already where that is more

    dissolved: at first, 0 or more [g]; most: what the water can hold or all salt that is there, 0 or more [g];
    seconds: t, 0 or more [s]; dissolving: tau, 0 or more [s]. Returns [g]. Raises DomainError.
    Source: first order in what is lacking, an assumption of this model.

    Hand arithmetic: tau ln 2 brings half of what lacks.
    >>> round(dissolved_after(100.0, 300.0, 3600.0 * math.log(2.0), 3600.0), 9)
    200.0
    """
    for name, mass in (("dissolved salt", dissolved), ("most that dissolves", most)):
        if not mass >= 0.0:
            raise DomainError(name, f"{mass:g} g", "0 g or more")
    if not seconds >= 0.0:
        raise DomainError("time to dissolve", f"{seconds:g} s", "0 s or more")
    if not dissolving >= 0.0:
        raise DomainError("dissolving time of salt", f"{dissolving:g} s", "0 s or more")
    if dissolving == 0.0:
        return max(most, dissolved)
    return dissolved - max(most - dissolved, 0.0) * math.expm1(-seconds / dissolving)
