"""How well an upflow cleans a sublayer, from the published laws by general libraries and nothing of the product's.

Fluidisation and expansion by the root of Ergun's equation against the buoyant weight (scipy), the terminal velocity
with the drag of Haider and Levenspiel (1989) for grains that are no spheres, n of Richardson and Zaki (1954), shear
of Amirtharajah (1971).
"""

from __future__ import annotations

from math import exp, sqrt

from chemicals import iapws95_rho, mu_IAPWS
from scipy.optimize import brentq

from sim.case.stage.records import Layer

GRAVITY = 9.80665


def cleaning_by_hand(v: float, temperature: float, *, size: float, layer: Layer) -> float:
    """Factor on the cleaning rates of grains of `size` [m] at v [m/s] and a temperature [degC]."""
    kelvin = temperature + 273.15
    rho = float(iapws95_rho(kelvin, 101_325.0))
    mu = float(mu_IAPWS(kelvin, rho))

    def unbalanced(speed: float, pores: float) -> float:
        grain = layer.sphericity * size
        drag = 150.0 * mu * speed * (1.0 - pores) ** 2 / (pores**3 * grain**2)
        drag += 1.75 * rho * speed**2 * (1.0 - pores) / (pores**3 * grain)
        return drag - (layer.grain_density - rho) * GRAVITY * (1.0 - pores)

    lifting = brentq(lambda speed: unbalanced(speed, layer.porosity), 1e-6, 1.0, xtol=1e-15)
    if v <= 0.8 * lifting:
        return 0.05
    pores = brentq(lambda e: unbalanced(v, e), layer.porosity, 0.999, xtol=1e-15) if v > lifting else layer.porosity
    n = exponent(mu, rho, size, layer)
    shear = sqrt((1.0 - pores) * pores ** (n - 1.0)) / sqrt((1.0 / n) * ((n - 1.0) / n) ** (n - 1.0))
    return 0.05 + min((v / lifting - 0.8) / 0.2, 1.0) * (shear - 0.05)


def exponent(mu: float, rho: float, size: float, layer: Layer) -> float:
    """n at the Reynolds number of the grain that falls freely."""

    def unbalanced(speed: float) -> float:
        reynolds, phi = rho * speed * size / mu, layer.sphericity
        early = 1.0 + exp(2.3288 - 6.4581 * phi + 2.4486 * phi**2) * reynolds ** (0.0964 + 0.5565 * phi)
        late = exp(4.905 - 13.8944 * phi + 18.4222 * phi**2 - 10.2599 * phi**3)
        turn = exp(1.4681 + 12.2584 * phi - 20.7322 * phi**2 + 15.8855 * phi**3)
        drag = 24.0 / reynolds * early + late / (1.0 + turn / reynolds)
        return drag * 0.75 * rho * speed**2 - (layer.grain_density - rho) * GRAVITY * size

    falling = brentq(unbalanced, 1e-6, 2.0, xtol=1e-15)
    reynolds = rho * falling * size / mu
    assert 1.0 < reynolds < 500.0, "the branch of n that is written here"
    return 4.45 * reynolds**-0.1
