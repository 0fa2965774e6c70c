"""One wash looked at closely, turned into what its figure and its words are made from."""

import math
from collections.abc import Sequence

import pandas as pd

from plots.inputs import Rinsed, Section
from plots.words import Number, Term, amount, localised, term
from sim.case.quantities import System
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.study.returned import Returned, Vessel
from sim.tell.present import ABSENT, UNITS, DisplayUnit, finely_written, solids_unit
from sim.tell.run.samples import filtered


def rinsed(case: Case, returned: Returned, system: System) -> Rinsed:
    """What the figure of one wash shows."""
    unit = solids_unit(case.feed.turbidity_ratio, system)
    limit = returned.stage.limit
    jars = [solids * unit.per_result_unit for _, solids in returned.jars]
    return Rinsed(
        stage=returned.stage.name,
        jars=pd.DataFrame(
            {"minutes": [minutes for minutes, _ in returned.jars], "solids": jars, "text": jar_texts(jars)}
        ),
        outlet=pd.DataFrame(
            {
                "minutes": [minutes for minutes, _ in returned.outlet],
                "solids": [solids * unit.per_result_unit for _, solids in returned.outlet],
            }
        ),
        solids=filtered(unit),
        limit=None if limit is None else limit * unit.per_result_unit,
        sections=(
            _section(term("when", "before"), returned.stage, returned.before, unit, system),
            _section(term("when", "after"), returned.stage, returned.after, unit, system),
        ),
    )


def jar_texts(solids: Sequence[float]) -> tuple[Number, ...]:
    """What a meter would read of each jar: two significant figures, a dash where no water flows."""
    return tuple(ABSENT if math.isnan(each) else _two_figures(each) for each in solids)


def _two_figures(value: float) -> Number:
    """Two significant figures, without an exponent and at most two decimals.

    >>> _two_figures(61.4), _two_figures(0.691), _two_figures(0.0)
    ('61', '0.69', '0')
    """
    decimals = 0 if value >= 10.0 or value == 0.0 else 1 if value >= 1.0 else 2
    return localised(f"{value:.{decimals}f}")


def _section(when: Term, stage: Stage, vessel: Vessel, unit: DisplayUnit, system: System) -> Section:
    depth, mass = UNITS[system]["length"], UNITS[system]["mass"]
    per_metre = depth.per_result_unit
    bottoms = pd.Series([layer.depth for layer in stage.layers]).cumsum() * per_metre
    water = vessel.water_mg_l * unit.per_result_unit
    (bed,) = finely_written([vessel.bed_kg * mass.per_result_unit])
    return Section(
        when=when,
        slices=pd.DataFrame(
            {
                "top": [each.top_m * per_metre for each in vessel.slices],
                "bottom": [each.bottom_m * per_metre for each in vessel.slices],
                "deposit": [each.deposit_kg_m3 for each in vessel.slices],
            }
        ),
        layers=pd.DataFrame(
            {
                "medium": [term("medium", layer.medium) for layer in stage.layers],
                "top": bottoms.shift(fill_value=0.0),
                "bottom": bottoms,
            }
        ),
        above=stage.vessel.height * per_metre - float(bottoms.iloc[-1]),
        water=water,
        water_holds=amount(_two_figures(water), unit.symbol),
        bed_holds=amount(bed, mass.symbol),
    )
