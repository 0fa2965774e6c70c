"""How a filter of each kind is usually built and washed, for a plant of which only a few numbers are known.

Low, typical and high of every figure with its source. None is a rule: the file that is written says so beside each.
"""

from collections.abc import Mapping
from types import MappingProxyType

from sim.case.record import record
from sim.case.stage.longest_run import PRACTICE, Usual, usual_of
from sim.case.units import FOOT, GALLON, MINUTE

GPM_FT2 = GALLON / MINUTE / FOOT**2  # m/s

HANDBOOK = "pressure filters for oily waste: MIL-HDBK-1005/9A"
PRESSURES = f"{HANDBOOK}, 2-4 psi clean and 8-12 psi loaded"


@record
class FilterKind:
    """One kind of filter.

    `layers`: medium and depth [m], top first; `missing`: what has to be given before a run follows what else it does
    than filter solids, "" for nothing; backwash_rate [m/s] and backwash_minutes.
    """

    name: str
    missing: str
    layers: tuple[tuple[str, Usual], ...]
    backwash_rate: Usual
    backwash_minutes: Usual

    @property
    def depth(self) -> float:
        """Of the whole bed [m]."""
        return sum(depth.typical for _, depth in self.layers)

    @property
    def longest_run(self) -> Usual:
        """The usual longest run [d]."""
        return usual_of(medium for medium, _ in self.layers)


_KINDS = (
    FilterKind(
        name="media",
        missing="",
        layers=(
            ("anthracite", Usual(0.40, 0.50, 0.60, PRACTICE)),
            ("sand", Usual(0.20, 0.25, 0.30, PRACTICE)),
        ),
        backwash_rate=Usual(15.0 * GPM_FT2, 17.0 * GPM_FT2, 20.0 * GPM_FT2, f"{HANDBOOK}, 15-20 gpm/ft2"),
        backwash_minutes=Usual(8.0, 11.0, 15.0, PRACTICE),
    ),
    FilterKind(
        name="oxidising",
        missing="iron or manganese under [feed]",
        layers=(("oxidising media", Usual(0.60, 0.75, 0.90, PRACTICE)),),
        backwash_rate=Usual(
            8.0 * GPM_FT2,
            13.0 * GPM_FT2,
            20.0 * GPM_FT2,
            "Wisconsin NR 811.52, 8-10 gpm/ft2 for greensand and 15-20 for coated media; typical from memory",
        ),
        backwash_minutes=Usual(8.0, 13.0, 18.0, PRACTICE),
    ),
    FilterKind(
        name="carbon",
        missing="free_chlorine under [feed]",
        layers=(("carbon", Usual(0.75, 0.90, 1.20, PRACTICE)),),
        backwash_rate=Usual(8.0 * GPM_FT2, 14.0 * GPM_FT2, 18.0 * GPM_FT2, f"{PRACTICE}; the most in warm water"),
        backwash_minutes=Usual(8.0, 10.0, 15.0, PRACTICE),
    ),
    FilterKind(
        name="softener",
        missing="the hardness to `filterrun new`, which then writes its brine and rinses too",
        layers=(("resin", Usual(0.60, 0.90, 1.20, PRACTICE)),),
        backwash_rate=Usual(6.0 * GPM_FT2, 7.0 * GPM_FT2, 8.0 * GPM_FT2, "MIL-HDBK-1164, 6-8 gpm/ft2"),
        backwash_minutes=Usual(7.0, 9.0, 12.0, PRACTICE),
    ),
)

FILTERS: Mapping[str, FilterKind] = MappingProxyType({kind.name: kind for kind in _KINDS})
"""Kinds of filter by name."""

HEIGHT = Usual(1.5, 1.7, 2.2, PRACTICE)
"""Of the vessel, over the depth of its bed: room for the bed to expand in a wash."""

FREE = 0.2
"""m: between the bed, at its highest in a wash in the coldest water, and the top of the vessel; from memory."""

SETTLE_MINUTES = Usual(1.0, 3.0, 5.0, PRACTICE)
RINSE_VOLUMES = Usual(1.0, 1.8, 2.5, PRACTICE)
"""Of the vessel's water: one displaces what the wash left, the rest ripens the bed before it serves cold water."""

RISE = Usual(28e3, 45e3, 69e3, PRESSURES)
"""Of the pressure drop from a clean bed to one that is to be washed [Pa]; typical in the middle."""

LEAST_SET = 20e3
"""Pa over the washed bed's pressure drop: what a switch at a filter can usually be set to; common practice, from
memory. The rule may set it lower, and then the file says so."""

HOLD_MINUTES = Usual(1.0, 4.0, 10.0, PRACTICE)
