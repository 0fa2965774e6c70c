"""The frozen records of what a wash draws from and drains into: SI, as `records`."""

from sim.case.record import record


@record
class Pipe:
    """A round pipe running full: inner diameter, length, wall roughness [m], sum of the loss coefficients of its
    fittings [-], rise of its end over its start [m], negative for a fall."""

    diameter: float
    length: float
    roughness: float
    fittings: float
    rise: float = 0.0


@record
class Supply:
    """What drives a backwash.

    pressures [Pa above ambient] at flows [m3/s] that rise from 0; the last flow is all there is. `pipe` leads to
    where the wash branches off; `shared_with_service`: it carries the service flow too; `others` [m3/s]: what other
    users draw through it meanwhile; `outlives_power_cut`: its pressure does not come from a pump of the site.
    """

    flows: tuple[float, ...]
    pressures: tuple[float, ...]
    pipe: Pipe | None
    shared_with_service: bool
    others: float = 0.0
    outlives_power_cut: bool = False


@record
class Sump:
    """What a pit or tank behind the drain may be given: a flow [m3/s], a volume a day [m3]; None is no limit."""

    flow_limit: float | None
    daily_limit: float | None


@record
class Drain:
    """Where a wash goes.

    `pipe` leads from the branch of the supply through the vessel's outlet to the free end, so its rise counts from
    there; `air_gap` is None where nobody says whether there is one, `air_gap_height` [m] where it is measured;
    `capacity` [m3/s]: what the drain takes.
    """

    pipe: Pipe | None
    air_gap: bool | None
    air_gap_height: float | None
    sump: Sump | None
    capacity: float | None


@record
class Restrictor:
    """A round hole in a stage's drain: hole and the pipe before it [m], discharge coefficient [-]."""

    hole: float
    pipe: float
    discharge: float
