"""The media of the trade with typical values, the defaults of the model, and sieve curves.

Every typical value carries its range and its source. Those marked assumed stand in for a figure of the
site's own and are to be replaced by measurement or calibration.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import NormalDist
from types import MappingProxyType

from hydraulics.errors import DomainError
from hydraulics.stoichiometry import EQUIVALENTS

_MEMORY = "typical, from memory, to be calibrated"
_COLLECTOR = "collector theory (forms from memory) over the grains, waters and particles of filters"
_DAVIS = "M. L. Davis, Water and Wastewater Engineering (2010), Tables 11-1 and 11-10: range"
_DAVIS_VALUE = "M. L. Davis, Water and Wastewater Engineering (2010), Table 11-1: value; range from memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Constant:
    """A value with the range in which it is found, its unit and where it comes from."""

    value: float
    low: float
    high: float
    unit: str
    source: str
    assumed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Medium:
    """Typical properties of a filter medium, SI; solids in g."""

    name: str
    size: Constant
    uniformity: Constant
    sphericity: Constant
    porosity: Constant
    grain_density: Constant
    filter_coefficient: Constant
    filter_coefficient_untreated: Constant
    ultimate_deposit: Constant
    firm_share: Constant


def _typical(value: float, low: float, high: float, unit: str, source: str = _MEMORY) -> Constant:
    return Constant(value=value, low=low, high=high, unit=unit, source=source, assumed=True)


def _medium(
    name: str,
    *,
    size_mm: Constant,
    uniformity: Constant,
    sphericity: Constant,
    porosity: Constant,
    grain_density: Constant,
    coagulated: float,
    untreated: float,
    ultimate_kg_m3: float,
    firm_share: float,
) -> Medium:
    """A medium whose capture constants are known to about a factor of two either way."""
    ultimate = 1000.0 * ultimate_kg_m3
    return Medium(
        name=name,
        size=_typical(size_mm.value / 1e3, size_mm.low / 1e3, size_mm.high / 1e3, "m", size_mm.source),
        uniformity=uniformity,
        sphericity=sphericity,
        porosity=porosity,
        grain_density=grain_density,
        filter_coefficient=_typical(coagulated, coagulated / 2.0, 2.0 * coagulated, "1/m"),
        filter_coefficient_untreated=_typical(untreated, untreated / 2.0, 2.0 * untreated, "1/m"),
        ultimate_deposit=_typical(ultimate, ultimate / 2.0, 1.5 * ultimate, "g/m3"),
        firm_share=_typical(firm_share, firm_share / 2.0, 2.0 * firm_share, "-"),
    )


_ANTHRACITE = _medium(
    "anthracite",
    size_mm=_typical(1.0, 0.9, 1.4, "mm", _DAVIS),
    uniformity=_typical(1.5, 1.3, 1.8, "-"),
    sphericity=_typical(0.60, 0.46, 0.73, "-", _DAVIS),
    porosity=_typical(0.55, 0.53, 0.60, "-", _DAVIS),
    grain_density=_typical(1600.0, 1450.0, 1750.0, "kg/m3", _DAVIS),
    coagulated=4.0,
    untreated=1.5,
    ultimate_kg_m3=12.0,
    firm_share=0.10,
)
_SAND = _medium(
    "sand",
    size_mm=_typical(0.50, 0.45, 0.55, "mm", _DAVIS),
    uniformity=_typical(1.5, 1.2, 1.7, "-"),
    sphericity=_typical(0.80, 0.70, 0.95, "-", _DAVIS),
    porosity=_typical(0.43, 0.40, 0.47, "-", _DAVIS),
    grain_density=_typical(2650.0, 2600.0, 2670.0, "kg/m3", _DAVIS_VALUE),
    coagulated=10.0,
    untreated=4.0,
    ultimate_kg_m3=9.0,
    firm_share=0.10,
)
_GARNET = _medium(
    "garnet",
    size_mm=_typical(0.25, 0.20, 0.35, "mm", _DAVIS),
    uniformity=_typical(1.5, 1.2, 1.8, "-"),
    sphericity=_typical(0.60, 0.55, 0.70, "-", _DAVIS_VALUE),
    porosity=_typical(0.47, 0.45, 0.55, "-"),
    grain_density=_typical(4000.0, 3600.0, 4200.0, "kg/m3", _DAVIS),
    coagulated=15.0,
    untreated=6.0,
    ultimate_kg_m3=7.0,
    firm_share=0.10,
)
_CARBON = _medium(
    "carbon",
    size_mm=_typical(0.90, 0.80, 1.00, "mm", _DAVIS),
    uniformity=_typical(1.7, 1.5, 1.9, "-"),
    sphericity=_typical(0.75, 0.70, 0.80, "-", _DAVIS_VALUE),
    porosity=_typical(0.50, 0.45, 0.55, "-", _DAVIS_VALUE),
    grain_density=_typical(1500.0, 1300.0, 1700.0, "kg/m3", _DAVIS),
    coagulated=4.0,
    untreated=1.5,
    ultimate_kg_m3=8.0,
    firm_share=0.15,
)
_OXIDISING = _medium(
    "oxidising media",
    size_mm=_typical(0.40, 0.30, 0.60, "mm"),
    uniformity=_typical(1.6, 1.3, 1.8, "-"),
    sphericity=_typical(0.70, 0.60, 0.80, "-"),
    porosity=_typical(0.45, 0.40, 0.50, "-"),
    grain_density=_typical(2500.0, 2300.0, 2900.0, "kg/m3"),
    coagulated=8.0,
    untreated=3.0,
    ultimate_kg_m3=8.0,
    firm_share=0.15,
)
_RESIN = _medium(
    "resin",
    size_mm=_typical(0.50, 0.40, 0.60, "mm"),
    uniformity=_typical(1.5, 1.1, 1.7, "-"),
    sphericity=_typical(1.0, 0.95, 1.0, "-"),
    porosity=_typical(0.38, 0.35, 0.42, "-"),
    grain_density=_typical(1250.0, 1200.0, 1300.0, "kg/m3"),
    coagulated=6.0,
    untreated=2.0,
    ultimate_kg_m3=3.0,
    firm_share=0.05,
)

CATALOGUE: Mapping[str, Medium] = MappingProxyType(
    {medium.name: medium for medium in (_ANTHRACITE, _SAND, _GARNET, _CARBON, _OXIDISING, _RESIN)}
)
"""Typical media by name."""

DEFAULTS: Mapping[str, Constant] = MappingProxyType(
    {
        "deposit_density": _typical(30_000.0, 20_000.0, 60_000.0, "g/m3"),
        "loose_rate": _typical(0.8 / 60.0, 0.3 / 60.0, 1.5 / 60.0, "1/s"),
        "firm_rate": _typical(0.06 / 60.0, 0.02 / 60.0, 0.1 / 60.0, "1/s"),
        "ripening_share": _typical(0.6, 0.3, 0.9, "-", f"coagulated feed: {_MEMORY}"),
        "ripening_share_untreated": _typical(0.3, 0.0, 0.6, "-", f"untreated feed: {_MEMORY}"),
        "ripening_volume": _typical(4.0, 1.0, 10.0, "m"),
        "attachment": _typical(0.5, 0.2, 1.0, "-", f"coagulated feed: {_MEMORY}"),
        "attachment_untreated": _typical(0.1, 0.02, 0.2, "-", f"untreated feed: {_MEMORY}"),
        "hamaker": _typical(1e-20, 0.3e-20, 2e-20, "J"),
        "velocity_exponent": _typical(0.5, 0.0, 1.0, "-"),
        "viscosity_exponent": _typical(0.5, 0.4, 0.6, "-", f"that of the velocity to 0.1: {_COLLECTOR}"),
        "size_exponent": _typical(1.5, 0.8, 2.5, "-", f"1.9 to 2.5 light floc, 0.9 to 1.6 silt: {_COLLECTOR}"),
        "floc_size": _typical(10e-6, 3e-6, 30e-6, "m", f"coagulated feed: {_MEMORY}"),
        "unfilterable": _typical(0.03, 0.01, 0.1, "-", f"coagulated feed: {_MEMORY}"),
        "unfilterable_untreated": _typical(0.1, 0.02, 0.4, "-", f"untreated feed: {_MEMORY}"),
        "head_loss_gain": _typical(
            5.0, 1.5, 10.0, "Pa/m per g/m3", f"at the typical reference rate and temperature: {_MEMORY}"
        ),
        "gain_size_exponent": _typical(1.0, 0.0, 2.0, "-"),
        "reference_rate": _typical(12.0 / 3600.0, 5.0 / 3600.0, 25.0 / 3600.0, "m/s"),
        "reference_temperature": _typical(15.0, 5.0, 25.0, "degC"),
        "porosity_floor": _typical(0.05, 0.02, 0.10, "-"),
        "valve_loss": _typical(
            15_000.0, 5_000.0, 30_000.0, "Pa", f"at the typical reference rate through the bed in service: {_MEMORY}"
        ),
        "mat_resistance": _typical(1e10, 1e9, 1e11, "m/kg"),
        "slough_exponent": _typical(0.25, 0.0, 0.5, "-", f"where sloughing is switched on: {_MEMORY}"),
        "tanks": _typical(3.0, 1.0, 10.0, "-"),
        "air_factor": _typical(4.0, 2.0, 8.0, "-", f"backwash with air: {_MEMORY}"),
        "pipe_roughness": _typical(0.05e-3, 0.0015e-3, 0.15e-3, "m", f"plastic to galvanised steel: {_MEMORY}"),
        "pipe_fittings": _typical(4.0, 1.0, 10.0, "-", f"a few bends and a valve: {_MEMORY}"),
        "pump_efficiency": _typical(0.6, 0.4, 0.75, "-", "pump and motor together: common practice, from memory"),
        "discharge": _typical(0.61, 0.59, 0.65, "-", f"sharp-edged hole: {_MEMORY}"),
    }
)
"""What the model takes where a case says nothing, by the name of the quantity."""


_BATCH = 1.75 * 28.349523125 / 0.3048**3 * EQUIVALENTS["permanganate"]
"""eq/m3: the middle of 1.5 to 2 oz of permanganate per ft3, a batch regeneration of oxidising media."""

UPTAKE: Mapping[str, Constant] = MappingProxyType(
    {
        "uptake_reference_rate": _typical(20.0 / 3600.0, 10.0 / 3600.0, 40.0 / 3600.0, "m/s"),
        "resin_half_length": _typical(0.03, 0.01, 0.10, "m", f"at the typical reference rate of uptake: {_MEMORY}"),
        "resin_leakage_co_current": _typical(0.03, 0.02, 0.06, "-"),
        "resin_leakage_counter_current": _typical(0.005, 0.002, 0.01, "-"),
        "resin_fouling": _typical(0.2, 0.05, 0.5, "-", f"iron and manganese that no brine gives back: {_MEMORY}"),
        "resin_capacity_factor": _typical(1.0, 0.85, 1.15, "-", "published tables differ by about as much"),
        "oxidising_capacity": _typical(
            _BATCH, 0.6 * _BATCH, 2.0 / 1.75 * _BATCH, "eq/m3", f"1.5 to 2 oz of permanganate a ft3: {_MEMORY}"
        ),
        "oxidising_half_length": _typical(
            0.10, 0.03, 0.30, "m", f"at the typical reference rate of uptake: {_MEMORY}"
        ),
        "carbon_capacity": _typical(
            2.7e6, 0.7e6, 3.0e6, "g/m3",
            "trade article: 6 g of chlorine a gram of carbon, an upper bound; 450 kg/m3 of bed from memory",
        ),
        "carbon_half_length": _typical(
            0.06, 0.03, 0.10, "m", f"free chlorine, at the typical reference rate of uptake: {_MEMORY}"
        ),
        "combined_half_length_factor": _typical(10.0, 5.0, 20.0, "-", f"over that of free chlorine: {_MEMORY}"),
        "floc_unfilterable": _typical(0.05, 0.01, 0.20, "-", f"floc of oxidised iron and manganese: {_MEMORY}"),
        "salt_solubility": _typical(
            358e3, 355e3, 362e3, "g/m3", "published table: 26.3, 26.4, 26.7 % of the brine at 0, 15.6, 37.8 degC"
        ),
        "salt_dissolving": _typical(3600.0, 1200.0, 3.0 * 3600.0, "s"),
    }
)  # fmt: skip
"""What the model takes for uptake and its regeneration where a case says nothing, by the name of the quantity."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ResinTable:
    """What doses of salt [g per m3 of resin] restore of a spent resin: capacities [g CaCO3 per m3 of resin]."""

    doses: tuple[float, ...]
    capacities: tuple[float, ...]
    source: str


_POUND_PER_CUBIC_FOOT = 453.59237 / 0.3048**3
_KILOGRAIN_PER_CUBIC_FOOT = 64.79891 / 0.3048**3
"""g/m3, by the international pound (453.59237 g), its grain (1/7000 of it) and foot."""

_PUBLISHED_SALT = ResinTable(
    doses=tuple(_POUND_PER_CUBIC_FOOT * each for each in (6.0, 8.0, 10.0, 15.0)),
    capacities=tuple(_KILOGRAIN_PER_CUBIC_FOOT * each for each in (20.0, 22.5, 25.0, 30.0)),
    source="6, 8, 10, 15 lb/ft3 restore 20, 22.5, 25, 30 kgr/ft3: a supplier's learning page (2016), the last from "
    "an industrial sizing page; at these doses other sets differ by 15 % at most",
)

RESIN_TABLES: Mapping[str, ResinTable] = MappingProxyType(
    {"co-current": _PUBLISHED_SALT, "counter-current": _PUBLISHED_SALT}
)
"""Salt and capacity by the direction of the brine. No table for counter-current brine was read: it has the same one,
which from memory understates it at low doses. What differs for sure is the leakage."""


VALVE_RATE = 12.0 / 3600.0
"""m/s: the filtration rate at which the typical loss of valve, piping and underdrain is meant."""


def sublayer_sizes(effective_size: float, uniformity: float, count: int) -> tuple[float, ...]:
    """Grain sizes of equal slices of a stratified layer, the fines on top.

    d10 UC^((z_q - z_10) / (z_60 - z_10)) at q = (i - 1/2) / count, z the quantiles of the normal distribution

    effective_size: d10 > 0 [m]; uniformity: UC = d60 / d10, 1 or more [-]; count: slices, 1 or more. Returns
    ascending sizes [m]; equal ones at UC = 1. Raises DomainError.
    Source: lognormal sieve curve through d10 and d60, an assumption of this model.

    Hand arithmetic: the 5th of five slices is centred on 90 %, as far above the median as d10 is below it.
    >>> sizes = sublayer_sizes(0.5e-3, 1.5, 5)
    >>> round(sizes[0] * sizes[4] / sizes[2] ** 2, 12), round(sizes[0], 12)
    (1.0, 0.0005)
    """
    return sizes_passing(effective_size, uniformity, count, 0.5)


def sizes_passing(effective_size: float, uniformity: float, count: int, share: float) -> tuple[float, ...]:
    """Size that a share of each equal slice of a stratified layer passes, the fines on top.

    d10 UC^((z_q - z_10) / (z_60 - z_10)) at q = (i - 1 + share) / count, z the quantiles of the normal distribution

    effective_size: d10 > 0 [m]; uniformity: UC = d60 / d10, 1 or more [-]; count: slices, 1 for the whole layer;
    share: above 0 and below 1, 0.9 for the d90 that decides when all of a slice lifts [-]. Returns sizes [m],
    ascending. Raises DomainError.
    Source: lognormal sieve curve through d10 and d60, an assumption of this model.

    Hand arithmetic: on a lognormal curve d90 is as far above the median as d10 is below it.
    >>> (d90,), (d50,) = sizes_passing(0.5e-3, 1.5, 1, 0.9), sizes_passing(0.5e-3, 1.5, 1, 0.5)
    >>> round(d90 * 0.5e-3 / d50**2, 12)
    1.0
    """
    if not effective_size > 0.0:
        raise DomainError("effective size", f"{effective_size:g} m", "above 0 m")
    if not uniformity >= 1.0:
        raise DomainError("uniformity coefficient", f"{uniformity:g}", "1 or more")
    if count < 1:
        raise DomainError("number of sublayers", f"{count}", "1 or more")
    if not 0.0 < share < 1.0:
        raise DomainError("share passing", f"{share:g}", "above 0 and below 1")
    quantile = NormalDist().inv_cdf
    z10, z60 = quantile(0.10), quantile(0.60)
    places = ((i + share) / count for i in range(count))
    return tuple(effective_size * uniformity ** ((quantile(q) - z10) / (z60 - z10)) for q in places)


def grain_size_passing(openings: Sequence[float], percent_passing: Sequence[float], percent: float) -> float:
    """Grain size at which a share of a sieve analysis passes.

    Linear in percent and in the logarithm of the opening between neighbouring sieves.

    openings: rising, above 0 [any length unit]; percent_passing: rising with them [%]; percent: between the
    first and the last of them [%]. Returns the size in the unit of the openings. Raises DomainError.
    Source: common practice.

    Hand arithmetic: half way between 1 and 4 is their geometric mean.
    >>> round(grain_size_passing([1.0, 4.0], [0.0, 20.0], 10.0), 12)
    2.0
    """
    curve = list(zip(openings, percent_passing, strict=False))
    if len(openings) != len(percent_passing) or not openings or not openings[0] > 0.0:
        raise DomainError("sieve analysis", f"{len(openings)} openings", "a percent for each opening above 0")
    if any(coarse <= fine or more < less for (fine, less), (coarse, more) in pairwise(curve)):
        raise DomainError("sieve analysis", "openings or percents that fall", "both rising")
    for (fine, less), (coarse, more) in pairwise(curve):
        if less <= percent <= more and less < more:
            return float(fine * (coarse / fine) ** ((percent - less) / (more - less)))
    allowed = f"{percent_passing[0]:g} to {percent_passing[-1]:g} %, what the sieves cover"
    raise DomainError("percent passing", f"{percent:g} %", allowed)
