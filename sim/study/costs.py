"""What a year of washing costs by a case's prices: water, sewer, energy, salt, permanganate, labour, cartridges,
lost production.

Water that is delivered costs the same whatever starts a wash, so only water to drain counts. Energy is that of
pumping wash water at a constant pressure; a loaded bed takes no more of it. A regenerant and its displacement are
driven by the pressure of a rinse. Brine costs what any water to drain does.
"""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import TypeVar

from sim.case.price.records import Price, Prices
from sim.case.records import Case
from sim.plant.records import Figure, RunResult
from sim.study.many.arrays import Values

YEAR_DAYS = 365.25
Amount = TypeVar("Amount", float, Values)

PRICE_OF = {
    "water": ("water",),
    "sewer": ("sewer",),
    "energy": ("pumping", "energy"),
    "salt": ("salt",),
    "permanganate": ("permanganate",),
    "labour": ("labour",),
    "cartridges": ("cartridge",),
    "lost production": ("lost_production",),
}  # fmt: skip
"""What a cost is made of, in the order in which it is shown, and the keys of the prices behind each part."""


def amounts(prices: Prices, figures: Mapping[str, Figure], days: float) -> dict[str, float]:
    """How much of each priced thing a year takes, by the key of its price; `figures` are of a run of `days`."""
    each = YEAR_DAYS / days

    def yearly(key: str) -> float:
        return float(figures[key] or 0.0) * each

    as_rinse = math.fsum(yearly(key) for key in ("rinse_m3", "brine_m3", "displacement_m3"))
    work = yearly("backwash_m3") * prices.wash_pressure + as_rinse * prices.rinse_pressure  # J
    return {
        "water": yearly("drain_m3"),
        "sewer": yearly("drain_m3"),
        "pumping": yearly("drain_m3"),
        "energy": work / prices.pump_efficiency,
        "salt": yearly("salt_kg") + yearly("washes") * prices.salt_per_wash,
        "permanganate": yearly("permanganate_kg"),
        "labour": yearly("washes"),
        "cartridge": float(figures.get("cartridges_a_year") or 0.0),
        "lost_production": yearly("unmet_m3"),
    }


def parts_of(prices: Prices, amount: Mapping[str, Amount]) -> dict[str, Amount]:
    """What each part of a year costs, or of every year of an array; a part without a price is left out."""
    found: dict[str, Amount] = {}
    for part, keys in PRICE_OF.items():
        for key in keys:
            price: Price | None = getattr(prices, key)
            if price is not None:
                cost = price.value * amount[key]
                found[part] = found[part] + cost if part in found else cost
    return found


def year_cost(prices: Prices | None, figures: Mapping[str, Figure], days: float) -> float | None:
    """What a year costs in all; None for a run of no time, or with no price of anything that a year takes."""
    if prices is None or days <= 0.0:
        return None
    parts = parts_of(prices, amounts(prices, figures, days))
    return sum(parts.values()) if parts else None


def priced(case: Case, result: RunResult) -> RunResult:
    """The result with the cost of a year among the figures of its site."""
    return replace(result, site=result.site | {"cost": year_cost(case.prices, result.site, result.days)})
