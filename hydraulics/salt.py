"""What salt restores of a softening resin: a table of published points, and a ceiling that nothing passes.

A table has doses of salt [g NaCl per m3 of resin], rising from above 0, and the capacity [g CaCO3 per m3] that each
restores of a spent bed. Straight lines join (0, 0) and the points; beyond the last the capacity is constant. The
ceiling is stoichiometry: a gram of hardness for each `SALT_PER_HARDNESS` grams of salt.
"""

from collections.abc import Sequence
from itertools import pairwise

from hydraulics.errors import DomainError
from hydraulics.stoichiometry import SALT_PER_HARDNESS

_ROUNDING = 1e-9
"""-, share of the first slope by which one may exceed that before it: points on one line, in other units at first."""


def _points(doses: Sequence[float], capacities: Sequence[float]) -> list[tuple[float, float]]:
    """The corners of a table with the origin; DomainError where it is none."""
    if not doses or len(doses) != len(capacities):
        given = f"{len(doses)} doses, {len(capacities)} capacities"
        raise DomainError("salt table", given, "one capacity for each dose, at least one")
    points = [(0.0, 0.0), *zip(doses, capacities, strict=True)]
    for (less, low), (more, high) in pairwise(points):
        if not more > less:
            raise DomainError(
                "dose of salt", f"{more:g} g/m3 after {less:g}", "each above the one before it and above 0"
            )
        if not high >= low or not capacities[0] > 0.0:
            raise DomainError("capacity", f"{high:g} g/m3 after {low:g}", "none below the one before it, all above 0")
    return points


def capacity_at(dose: float, doses: Sequence[float], capacities: Sequence[float]) -> float:
    """Capacity that a dose of salt restores of a spent resin: q(s).

    Linear between the points; constant beyond the last; at most s / 1.168 (`SALT_PER_HARDNESS`)

    dose: s, 0 or more [g/m3 of resin]; doses, capacities: a table as above [g/m3]. Returns [g CaCO3 per m3 of resin].
    Raises DomainError.
    Source: published tables of salt and capacity, joined by straight lines, an assumption of this model.

    Hand arithmetic: half way to the first point, half way between both, beyond them.
    >>> [capacity_at(dose, (100.0, 200.0), (60.0, 80.0)) for dose in (0.0, 50.0, 150.0, 500.0)]
    [0.0, 30.0, 70.0, 80.0]
    """
    if not dose >= 0.0:
        raise DomainError("dose of salt", f"{dose:g} g/m3", "0 g/m3 or more")
    points = _points(doses, capacities)
    ceiling = dose / SALT_PER_HARDNESS
    for (less, low), (more, high) in pairwise(points):
        if dose <= more:
            return min(low + (high - low) * ((dose - less) / (more - less)), ceiling)
    return min(capacities[-1], ceiling)


def dose_for(capacity: float, doses: Sequence[float], capacities: Sequence[float]) -> float:
    """Least dose of salt that restores a capacity of a spent resin: the inverse of `capacity_at`.

    capacity: 0 to the last of the table [g CaCO3 per m3 of resin]; doses, capacities: a table as above [g/m3].
    Returns [g/m3 of resin]. Raises DomainError.
    Source: as `capacity_at`.

    Hand arithmetic: as there; 80 takes 93.4 by stoichiometry, and the table has more.
    >>> [dose_for(capacity, (100.0, 200.0), (60.0, 80.0)) for capacity in (0.0, 30.0, 70.0, 80.0)]
    [0.0, 50.0, 150.0, 200.0]
    """
    points = _points(doses, capacities)
    if not 0.0 <= capacity <= capacities[-1]:
        raise DomainError("capacity", f"{capacity:g} g/m3", f"0 to {capacities[-1]:g} g/m3, the last of its table")
    (less, low), (more, high) = next(line for line in pairwise(points) if capacity <= line[1][1])
    return max(less + (more - less) * ((capacity - low) / (high - low)), capacity * SALT_PER_HARDNESS)


def regenerated(free: float, salt: float, doses: Sequence[float], capacities: Sequence[float]) -> float:
    """Free capacity of a resin once salt has passed it.

    q(q^-1(c) + s), at least c: the salt goes on along the table from where the bed stands

    free: c, free capacity before, 0 or more [g CaCO3 per m3 of resin]; salt: s that passes, 0 or more [g/m3 of
    resin]; doses, capacities: a table as above, concave [g/m3]. Returns [g CaCO3 per m3 of resin]; c
    where it is beyond the table already. The gain never exceeds s / 1.168. Raises DomainError.
    Source: an assumption of this model; a spent bed gives the table itself.

    Hand arithmetic: 30 is free as after a dose of 50; 100 more make 150.
    >>> regenerated(30.0, 100.0, (100.0, 200.0), (60.0, 80.0)), regenerated(0.0, 100.0, (100.0, 200.0), (60.0, 80.0))
    (70.0, 60.0)
    """
    if not free >= 0.0:
        raise DomainError("free capacity", f"{free:g} g/m3", "0 g/m3 or more")
    if not salt >= 0.0:
        raise DomainError("salt", f"{salt:g} g/m3", "0 g/m3 or more")
    if salt == 0.0 or free >= capacities[-1]:
        return free
    return max(free, capacity_at(dose_for(free, doses, capacities) + salt, doses, capacities))


def is_concave(doses: Sequence[float], capacities: Sequence[float]) -> bool:
    """Whether no more salt ever restores more for each gram of it than the salt before it.

    doses, capacities: a table as above [g/m3]. Raises DomainError where it is no table at all.
    Source: common practice; every published table is.

    Hand arithmetic: slopes of 0.6 and 0.2, then of 0.6 and 0.9.
    >>> is_concave((100.0, 200.0), (60.0, 80.0)), is_concave((100.0, 200.0), (60.0, 150.0))
    (True, False)
    """
    corners = pairwise(_points(doses, capacities))
    slopes = [(high - low) / (more - less) for (less, low), (more, high) in corners]
    return all(late <= early + _ROUNDING * slopes[0] for early, late in pairwise(slopes))
