"""A stratified bed under upflow: sublayer by sublayer lifted or packed, mixed or not, kept or lost.

A wash sorts each layer, fines on top. Each sublayer lifts at a velocity of its own and expands by itself; what
their bulk densities then are decides whether two neighbouring layers stay apart.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from hydraulics.errors import DomainError
from hydraulics.fluidise import (
    bulk_density,
    buoyant_gradient,
    ergun_porosity,
    ergun_velocity,
    expanded_depth,
    richardson_zaki_exponent,
    richardson_zaki_porosity,
)
from hydraulics.headloss import ergun_gradient, grain_reynolds
from hydraulics.settle import terminal_velocity

Form = Literal["ergun", "richardson-zaki"]

_ONSET: Final = 1e-9  # a bed this little above its lifting velocity still counts as packed: rounding decides there


@dataclass(frozen=True, slots=True, kw_only=True)
class Sublayer:
    """Alike grains, packed: depth [m], size [m], sphericity [-], porosity [-], grain_density [kg/m3]."""

    depth: float
    size: float
    sphericity: float
    porosity: float
    grain_density: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpandedSublayer:
    """A sublayer under upflow.

    depth: packed [m]; height: now, inf where the grains are carried away [m]; porosity: now, 1 and more where they
    are [-]; fluidising: the velocity that lifts it [m/s]; bulk_density [kg/m3]; loss: pressure over it [Pa].
    """

    depth: float
    height: float
    porosity: float
    fluidising: float
    fluidised: bool
    bulk_density: float
    loss: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpandedLayer:
    """A layer of one medium under upflow, its sublayers from the top."""

    sublayers: tuple[ExpandedSublayer, ...]

    @property
    def depth(self) -> float:
        """Packed depth [m]."""
        return sum(each.depth for each in self.sublayers)

    @property
    def height(self) -> float:
        """Height under upflow [m]."""
        return sum(each.height for each in self.sublayers)

    @property
    def fluidised_share(self) -> float:
        """Part of the packed depth that is lifted [-]."""
        return sum(each.depth for each in self.sublayers if each.fluidised) / self.depth

    @property
    def loss(self) -> float:
        """Pressure loss of the upflow [Pa]: buoyant weight where lifted, Ergun's where packed."""
        return sum(each.loss for each in self.sublayers)


@dataclass(frozen=True, slots=True, kw_only=True)
class Intermixing:
    """What mixes where two layers meet.

    above, below: height of the part of the upper and of the lower layer that mixes [m], 0 where they stay apart.
    """

    above: float
    below: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MediaLoss:
    """Whether a wash takes grains along.

    freeboard: free height above the expanded bed, negative where it does not fit [m]; terminal: settling velocity of
    the finest grains, which an upflow beyond it carries away [m/s]; overflows: the bed reaches the vessel's outlet.
    """

    freeboard: float
    terminal: float
    overflows: bool


def sublayers(
    depth: float, sizes: Sequence[float], *, sphericity: float, porosity: float, grain_density: float
) -> tuple[Sublayer, ...]:
    """Sublayers of equal depth of one medium.

    depth: of the layer [m]; sizes: one for each sublayer, top first [m]; sphericity, porosity [-]; grain_density
    [kg/m3]. Returns them top first. Raises DomainError without a size.
    Source: a layer stratified by its washes, an assumption of this model.

    Hand arithmetic: four slices of 0.6 m.
    >>> [each.depth for each in sublayers(0.6, [1e-3] * 4, sphericity=0.6, porosity=0.5, grain_density=1600.0)]
    [0.15, 0.15, 0.15, 0.15]
    """
    if not sizes:
        raise DomainError("grain sizes", "none", "one for each sublayer")
    return tuple(
        Sublayer(depth=depth / len(sizes), size=size, sphericity=sphericity, porosity=porosity,
                 grain_density=grain_density)
        for size in sizes
    )  # fmt: skip


def expand(
    v: float, mu: float, rho: float, sublayer: Sublayer, *, viscous: float, inertial: float, form: Form = "ergun"
) -> ExpandedSublayer:
    """A sublayer at an upflow: packed up to Ergun's velocity of fluidisation, expanded beyond it.

    v: 0 or more [m/s]; mu > 0 [Pa s]; rho [kg/m3]; viscous > 0, inertial: coefficients of Ergun's law [-]; form: the
    law of expansion, by Ergun or by the settling of the grain in its own shape.
    Raises DomainError for values that mean nothing, and where a lifted sublayer comes out no wider than packed:
    the law of expansion then contradicts that of fluidisation, as Richardson & Zaki's does just above it.
    Source: `ergun_velocity`, `ergun_porosity`, `richardson_zaki_porosity`.

    Hand arithmetic: 614 Pa/m lift it at 1 mm/s with porosity 1/2 (see `ergun_velocity`); packed at 0.4 it lies in
    5/6 of that height.
    >>> grains = Sublayer(depth=0.5, size=1e-3, sphericity=1.0, porosity=0.4, grain_density=1000.0 + 614.0 / 9.80665)
    >>> round(expand(1e-3, 1e-3, 1000.0, grains, viscous=150.0, inertial=1.75).height, 9)
    0.6
    """
    _refuse(v, rho, sublayer)
    packed, grains = sublayer.porosity, _grains(sublayer)
    fluidising = ergun_velocity(packed, mu, rho, **grains, viscous=viscous, inertial=inertial)
    if v > fluidising * (1.0 + _ONSET):
        if form == "ergun":
            porosity = ergun_porosity(v, mu, rho, **grains, viscous=viscous, inertial=inertial)
        else:
            terminal = terminal_velocity(mu, rho, **grains)
            porosity = richardson_zaki_porosity(v, terminal, hindered_exponent(mu, rho, sublayer))
        _insist_on_expansion(v, fluidising, porosity, packed)
        return _lifted(sublayer, porosity, fluidising, rho)
    gradient = ergun_gradient(
        v, mu, rho, size=sublayer.size, sphericity=sublayer.sphericity, porosity=packed,
        viscous=viscous, inertial=inertial,
    )  # fmt: skip
    return ExpandedSublayer(
        depth=sublayer.depth, height=sublayer.depth, porosity=packed, fluidising=fluidising, fluidised=False,
        bulk_density=bulk_density(packed, sublayer.grain_density, rho), loss=gradient * sublayer.depth,
    )  # fmt: skip


def expand_layer(
    v: float,
    mu: float,
    rho: float,
    layer: Iterable[Sublayer],
    *,
    viscous: float,
    inertial: float,
    form: Form = "ergun",
) -> ExpandedLayer:
    """A stratified layer at an upflow, each sublayer by itself.

    layer: its sublayers, top first; the rest as `expand`. Raises DomainError.
    Source: as `expand`; sublayer by sublayer as M. L. Davis (2010), Example 11-3.

    Hand arithmetic: as `expand`, in two halves.
    >>> half = Sublayer(depth=0.25, size=1e-3, sphericity=1.0, porosity=0.4, grain_density=1000.0 + 614.0 / 9.80665)
    >>> round(expand_layer(1e-3, 1e-3, 1000.0, [half, half], viscous=150.0, inertial=1.75).height, 9)
    0.6
    """
    lifted = (expand(v, mu, rho, each, viscous=viscous, inertial=inertial, form=form) for each in layer)
    return ExpandedLayer(sublayers=tuple(lifted))


def intermixing(upper: ExpandedLayer, lower: ExpandedLayer) -> Intermixing:
    """Which parts of two neighbouring layers mix at an upflow.

    A sublayer of the upper layer changes places with one of the lower that is lighter in bulk, unless both are
    packed. Above and below add up the heights of all that do.

    upper, lower: at the same upflow. Returns what mixes; equal densities stay apart.
    Source: criterion of bulk densities, Cleasby & Woods (1975), J. AWWA 67 (from memory).

    Hand arithmetic: 1500 kg/m3 over 1400, both lifted: both mix.
    >>> def lifted(bulk, height):
    ...     one = ExpandedSublayer(depth=0.1, height=height, porosity=0.6, fluidising=0.005, fluidised=True,
    ...                            bulk_density=bulk, loss=0.0)
    ...     return ExpandedLayer(sublayers=(one,))
    >>> found = intermixing(lifted(1500.0, 0.3), lifted(1400.0, 0.2))
    >>> found.above, found.below
    (0.3, 0.2)
    """
    return Intermixing(
        above=sum(a.height for a in upper.sublayers if any(_change_places(a, b) for b in lower.sublayers)),
        below=sum(b.height for b in lower.sublayers if any(_change_places(a, b) for a in upper.sublayers)),
    )


def media_loss(height: float, *, mu: float, rho: float, finest: Sublayer, vessel_height: float) -> MediaLoss:
    """Whether an upflow takes grains out of the vessel.

    height: of the whole expanded bed [m]; mu [Pa s]; rho [kg/m3]; finest: the smallest grains of the top layer;
    vessel_height: from where the bed rests to the outlet [m]. Returns freeboard and findings.
    Source: balance of forces on a single grain (`terminal_velocity`), and the height that is there.

    Hand arithmetic: 1.1 m in 1.5 m.
    >>> grain = Sublayer(depth=0.1, size=1e-3, sphericity=0.8, porosity=0.4, grain_density=2650.0)
    >>> found = media_loss(1.1, mu=1e-3, rho=1000.0, finest=grain, vessel_height=1.5)
    >>> round(found.freeboard, 12), found.overflows
    (0.4, False)
    """
    terminal = terminal_velocity(mu, rho, **_grains(finest))
    freeboard = vessel_height - height
    return MediaLoss(freeboard=freeboard, terminal=terminal, overflows=freeboard < 0.0)


def hindered_exponent(mu: float, rho: float, sublayer: Sublayer) -> float:
    """Exponent of hindered settling of a sublayer's grains, for `cleaning_factor` and Richardson & Zaki's law.

    mu > 0 [Pa s]; rho [kg/m3]. Returns n [-].
    Source: `richardson_zaki_exponent` at the `terminal_velocity` of the grain in its own shape.

    M. L. Davis (2010), Example 11-3, prints 1/n = 0.314 for 0.505 mm sand at 10 degC, by another drag law.
    >>> sand = Sublayer(depth=0.1, size=0.505e-3, sphericity=0.82, porosity=0.45, grain_density=2650.0)
    >>> round(1.0 / hindered_exponent(1.307e-3, 1000.0, sand), 2)
    0.31
    """
    terminal = terminal_velocity(mu, rho, **_grains(sublayer))
    return richardson_zaki_exponent(grain_reynolds(terminal, sublayer.size, sphericity=1.0, rho=rho, mu=mu))


def _grains(sublayer: Sublayer) -> dict[str, float]:
    """A sublayer's grains as the laws name them."""
    return {"size": sublayer.size, "sphericity": sublayer.sphericity, "grain_density": sublayer.grain_density}


def _lifted(sublayer: Sublayer, porosity: float, fluidising: float, rho: float) -> ExpandedSublayer:
    carried = porosity >= 1.0
    weight = buoyant_gradient(sublayer.porosity, sublayer.grain_density, rho)
    return ExpandedSublayer(
        depth=sublayer.depth,
        height=math.inf if carried else expanded_depth(sublayer.depth, sublayer.porosity, porosity),
        porosity=porosity,
        fluidising=fluidising,
        fluidised=True,
        bulk_density=rho if carried else bulk_density(porosity, sublayer.grain_density, rho),
        loss=weight * sublayer.depth,
    )


def _refuse(v: float, rho: float, sublayer: Sublayer) -> None:
    if not v >= 0.0:
        raise DomainError("upflow", f"{v:g} m/s", "0 m/s or more")
    if not 0.0 < sublayer.porosity < 1.0:
        raise DomainError("porosity", f"{sublayer.porosity:g}", "above 0 and below 1")
    if not sublayer.grain_density > rho:
        raise DomainError("grain density", f"{sublayer.grain_density:g} kg/m3", f"above {rho:g} kg/m3, the water's")


def _insist_on_expansion(v: float, fluidising: float, porosity: float, packed: float) -> None:
    if not porosity > packed:
        raise DomainError(
            "expanded porosity",
            f"{porosity:.3f} at {3600.0 * v:.3g} m/h, above the {3600.0 * fluidising:.3g} m/h that lift the grains",
            f"above {packed:g}, the packed one: this law of expansion does not fit these grains",
        )


def _change_places(above: ExpandedSublayer, below: ExpandedSublayer) -> bool:
    return above.bulk_density > below.bulk_density and (above.fluidised or below.fluidised)
