"""Iron that air oxidises in the water: slow, and the faster the higher the pH."""

import math
from typing import Final

from hydraulics.compiled import law
from hydraulics.constants import ICE_POINT
from hydraulics.errors import DomainError

IRON_BY_AIR: Final = 8.0e13 / 60.0
"""1/(s atm (mol/L)2), at 20.5 degC: Stumm & Lee (1961), from memory; other waters gave a third to twice as much."""

HIGHEST_PH: Final = 14.0
"""The end of the scale that this room and all that gives it a pH keep to."""

OXYGEN_OF_AIR: Final = 0.2095
"""atm, partial pressure over water that has met enough air: the dry atmosphere at sea level."""


def water_exponent(temperature: float) -> float:
    """Exponent pK_w of the ion product of water.

    4470.99 / T - 6.0875 + 0.01706 T, T in K

    temperature: 0 to 50 [degC]. Returns [-]. Raises DomainError.
    Source: Harned & Hamer (1933), J. Am. Chem. Soc. 55, 2194-2206; from memory.

    Known to everyone: 14.0 at 25 degC.
    >>> round(water_exponent(25.0), 1)
    14.0
    """
    if not 0.0 <= temperature <= 50.0:
        raise DomainError("water temperature", f"{temperature:g} degC", "0 to 50 degC")
    kelvin = temperature + ICE_POINT
    return 4470.99 / kelvin - 6.0875 + 0.01706 * kelvin


def air_rate(acidity: float, temperature: float) -> float:
    """Rate at which air oxidises dissolved iron, Fe(II), in the water.

    k [OH-]^2 p_O2, [OH-] = 10^(pH - pK_w), k of 20.5 degC

    acidity: pH, 0 to 14, measured from 6 to 7.5 [-]; temperature: 0 to 50 [degC]. Returns [1/s]. Raises DomainError.
    Temperature acts through pK_w alone: 14 times from 5 to 20 degC, where about 10 was measured. The water is held to
    keep its pH and the oxygen of air; floc already there, which speeds it up, is not counted.
    Source: Stumm & Lee (1961), Ind. Eng. Chem. 53, 143-146; from memory.

    Hand arithmetic: pH one higher is a hundred times as fast.
    >>> round(air_rate(7.5, 20.5) / air_rate(6.5, 20.5), 9)
    100.0
    """
    if not 0.0 <= acidity <= HIGHEST_PH:
        raise DomainError("pH", f"{acidity:g}", f"0 to {HIGHEST_PH:g}")
    return float(IRON_BY_AIR * OXYGEN_OF_AIR * 10.0 ** (2.0 * (acidity - water_exponent(temperature))))


@law
def air_converted(iron: float, rate: float, contact: float) -> float:
    """Dissolved iron that air oxidises before the water comes to the bed.

    Fe (1 - e^(-r t))

    iron: Fe [g/m3]; rate: r, 0 or more [1/s]; contact: t, 0 or more [s]. Returns [g/m3], 0 to Fe.
    Source: first order at constant pH and oxygen, as `air_rate`.

    Hand arithmetic: one half-life halves it.
    >>> round(air_converted(3.0, 0.01, 100.0 * math.log(2.0)), 12)
    1.5
    """
    return -iron * math.expm1(-rate * contact)
