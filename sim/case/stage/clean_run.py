"""A filter run from a clean bed at one steady flow, worked out without a clock.

The exact step of `hydraulics.capture`, the cells and the head-loss laws are those of a run of the plant; here they
serve to read a constant from a known run, and to see how long a new filter will last.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from hydraulics import headloss, water
from hydraulics.capture import (
    coefficient_at_rate,
    coefficient_in_water,
    deposit_gain,
    outlet_share,
    ultimate_deposit_at_rate,
)
from sim.case.record import record
from sim.case.series.records import Feed
from sim.case.series.series import mean_of
from sim.case.stage.records import Layer, Stage


class Part(NamedTuple):
    """A part of a layer that captures alike: filter coefficient [1/m] and ultimate deposit [g/m3] at the rate and
    in the water of the run, depth [m], and the grain size of each of its cells [m]."""

    layer: Layer
    coefficient: float
    ultimate: float
    depth: float
    sizes: tuple[float, ...]


class Cell(NamedTuple):
    """A thin slice of a bed: grain size and thickness [m], deposit [g/m3]."""

    layer: Layer
    size: float
    thickness: float
    deposit: float


class Inflow(NamedTuple):
    """Solids that reach a bed [g/m3]: those it can capture, and the fine ones that pass it."""

    filterable: float
    fine: float


@record
class CleanRun:
    """A stage, clean and ripe at first, at a steady flow [m3/s] of water at a temperature [degC].

    `left` [g/m3]: what earlier washes left in each layer, evenly; nothing unless given.
    """

    stage: Stage
    flow: float
    temperature: float
    left: tuple[float, ...] = ()

    @property
    def rate(self) -> float:
        """Filtration rate [m/s]."""
        return self.flow / self.stage.vessel.area

    @property
    def viscosity(self) -> float:
        """Of its water [Pa s]."""
        return water.viscosity(self.temperature)

    @property
    def bed(self) -> Stage:
        """The stage as a load meets it. What lies evenly in a layer takes the same share of the room above each node:
        a clean layer of so much less coefficient and ultimate deposit."""
        if not any(self.left):
            return self.stage
        free = [1.0 - left / layer.ultimate_deposit for left, layer in zip(self.left, self.stage.layers, strict=True)]
        layers = tuple(
            replace(
                layer,
                filter_coefficients=tuple(share * each for each in layer.filter_coefficients),
                ultimate_deposit=share * layer.ultimate_deposit,
            )
            for share, layer in zip(free, self.stage.layers, strict=True)
        )
        return replace(self.stage, layers=layers)

    def cells(self, load: float) -> tuple[Cell, ...]:
        """Every cell with the deposit of a load [g/m2] of filterable solids and what was left before."""
        cells = cells_at(self.bed, self.rate, self.viscosity, load)
        if not any(self.left):
            return cells
        each = self.stage.cells_per_layer
        return tuple(
            cell._replace(deposit=cell.deposit + self.left[place // each]) for place, cell in enumerate(cells)
        )

    def passing(self, inflow: Inflow, load: float) -> float:
        """Filterable solids [g/m3] that pass once a load [g/m2] has reached the stage; a clean bed at 0."""
        kept = 1.0 - (self.stage.mat.share if self.stage.mat else 0.0)
        solids, load = kept * inflow.filterable, kept * load
        for part in parts(self.bed, self.rate, self.viscosity):
            if part.coefficient > 0.0:
                b = part.coefficient * load / part.ultimate
                solids *= outlet_share(part.coefficient * part.depth, b)
                load -= deposit_gain(part.depth, part.coefficient, part.ultimate, load=load)
        return solids

    def pressure_drop(self, load: float) -> float:
        """Of bed and mat [Pa], once a load [g/m2] of filterable solids has reached the stage; clean at 0."""
        mu, rho, stage = self.viscosity, water.density(self.temperature), self.stage
        mat = 0.0
        if stage.mat is not None:
            mass = stage.mat.share * load
            mat = headloss.mat_loss(stage.mat.resistance, mu, self.rate, mass_per_area=mass)
            load -= mass
        cells = self.cells(load)
        return mat + math.fsum(cell.thickness * _gradient(stage, cell, self.rate, mu, rho) for cell in cells)

    def rise(self, load: float) -> float:
        """What the load adds to the pressure drop of the clean bed [Pa]."""
        return self.pressure_drop(load) - self.pressure_drop(0.0)


def parts(stage: Stage, rate: float, mu: float) -> Iterator[Part]:
    """The bed from top to bottom at a filtration rate [m/s] of water of a viscosity [Pa s]."""
    fullness = 1.0
    if stage.sloughing is not None:
        exponent = stage.sloughing.exponent
        fullness = ultimate_deposit_at_rate(1.0, rate, stage.reference_rate, exponent=exponent)
    for layer in stage.layers:
        count = len(layer.filter_coefficients)
        per_part = stage.cells_per_layer // count
        sizes = layer.sublayer_sizes
        for number, given in enumerate(layer.filter_coefficients):
            first = number * per_part
            reference = coefficient_in_water(given, mu, stage.reference_viscosity, exponent=layer.viscosity_exponent)
            yield Part(
                layer=layer,
                coefficient=coefficient_at_rate(
                    reference, rate, stage.reference_rate, exponent=stage.velocity_exponent
                ),
                ultimate=fullness * layer.ultimate_deposit,
                depth=layer.depth / count,
                sizes=tuple(sizes[(first + i) * len(sizes) // stage.cells_per_layer] for i in range(per_part)),
            )


def cells_at(stage: Stage, rate: float, mu: float, load: float) -> tuple[Cell, ...]:
    """Every cell of a bed that was clean before a load [g/m2] entered it, as `parts` has it."""
    cells = []
    for part in parts(stage, rate, mu):
        above, count = 0.0, len(part.sizes)
        thickness = part.depth / count
        for i, size in enumerate(part.sizes, start=1):
            below = deposit_gain(part.depth * i / count, part.coefficient, part.ultimate, load=load)
            cells.append(Cell(part.layer, size, thickness, max(below - above, 0.0) / thickness))
            above = below
        load -= above
    return tuple(cells)


def _gradient(stage: Stage, cell: Cell, rate: float, mu: float, rho: float) -> float:
    """Pressure gradient of a cell [Pa/m] by the laws of the stage."""
    layer, laws = cell.layer, stage.head_loss
    linear = laws.growth == "linear"
    porosity, growth = layer.porosity, 0.0
    if linear:
        growth = headloss.linear_growth_gradient(
            layer.head_loss_gain,
            cell.deposit,
            v=rate,
            v_ref=stage.reference_rate,
            mu=mu,
            mu_ref=stage.reference_viscosity,
        )
    else:
        porosity = headloss.narrowed_porosity(
            porosity, cell.deposit, layer.deposit_density, floor=stage.porosity_floor
        )
    # The laminar law is this one without its inertial term.
    clean = headloss.ergun_gradient(
        rate,
        mu,
        rho,
        size=cell.size,
        sphericity=layer.sphericity,
        porosity=porosity,
        viscous=laws.viscous,
        inertial=laws.inertial,
    )
    return clean + growth


def mean_feed(feed: Feed) -> Inflow:
    """The mean of a feed with what is dosed to it, all of it filterable, before any bed has told what passes."""
    solids, dosed = mean_of(feed.solids), feed.coagulant
    return Inflow(0.0 if dosed is None else dosed.adds + dosed.adds_per_solids * solids, solids)


def inflow_of(
    stages: Sequence[Stage],
    k: int,
    feed: Feed,
    *,
    flow: float,
    temperature: float,
    formed: Sequence[Inflow] = (),
) -> Inflow:
    """What reaches stage k of a train whose beds are clean and ripe, at a steady flow [m3/s] of the mean feed.

    The flow is that of the whole train; the vessels of a stage share it. `formed`: for each stage the floc that joins
    the solids there; none unless given.
    """
    (filterable, fine), fine_before = mean_feed(feed), 1.0
    for place, stage in enumerate(stages[: k + 1]):
        passes = stage.unfilterable / fine_before if fine_before > 0.0 else 0.0
        fine_before = stage.unfilterable
        filterable, fine = filterable + (1.0 - passes) * fine, passes * fine
        if formed:
            filterable, fine = filterable + formed[place].filterable, fine + formed[place].fine
        if place < k:
            run = CleanRun(stage=stage, flow=flow / stage.vessels.sharing, temperature=temperature)
            filterable = run.passing(Inflow(filterable, fine), 0.0)
    return Inflow(filterable, fine)
