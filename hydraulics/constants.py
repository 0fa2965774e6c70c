"""Physical constants and the published coefficients of the laws, each with unit and source."""

from typing import Final

STANDARD_GRAVITY: Final = 9.80665
"""m/s2, standard acceleration of free fall: 3rd General Conference on Weights and Measures, 1901."""

BOLTZMANN: Final = 1.380649e-23
"""J/K, exact since the 2019 revision of the SI."""

ICE_POINT: Final = 273.15
"""K, 0 degC on the Kelvin scale: definition of the Celsius temperature."""

ATMOSPHERE: Final = 101325.0
"""Pa, standard atmosphere: 10th General Conference on Weights and Measures, 1954."""

GRAMS_PER_KILOGRAM: Final = 1000.0
"""g/kg, definition."""

ERGUN_VISCOUS: Final = 150.0
"""-, viscous coefficient: Ergun (1952), Chem. Eng. Prog. 48(2), 89-94."""

ERGUN_INERTIAL: Final = 1.75
"""-, inertial coefficient: Ergun (1952), Chem. Eng. Prog. 48(2), 89-94."""

CARMAN_KOZENY_VISCOUS: Final = 180.0
"""-, viscous coefficient: Carman (1937), Trans. Inst. Chem. Eng. 15, 150-166 (36 times his constant 5)."""

HYDROGEN: Final = 1.008
CARBON: Final = 12.011
NITROGEN: Final = 14.007
OXYGEN: Final = 15.999
SODIUM: Final = 22.990
ALUMINIUM: Final = 26.982
SULFUR: Final = 32.06
CHLORINE: Final = 35.45
POTASSIUM: Final = 39.098
CALCIUM: Final = 40.078
MANGANESE: Final = 54.938
IRON: Final = 55.845
"""g/mol, standard atomic masses, abridged: IUPAC (2021)."""
