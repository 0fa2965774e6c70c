"""The arrays of the line of water: one structured dtype per kind of row, named as the physics names it.

Units are SI with solids in g; "per area" is per m2 of bed. Names ending in `_total` only grow and make the ledger.
"""

from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

import numpy as np

SERVICE, RINSE, BACKWASH, SETTLE, STANDBY = 0, 1, 2, 3, 4  # what a vessel is doing
REACHED, STOPPED, VOLUME_TRIP, PRESSURE_TRIP, STUCK = 0, 1, 2, 3, 4  # how an advance ended

Rows: TypeAlias = np.recarray[Any, np.dtype[Any]]


def _record(floats: str, integers: str = "") -> np.dtype[Any]:
    fields = [(name, "f8") for name in floats.split()] + [(name, "i8") for name in integers.split()]
    return np.dtype(fields, align=True)


# A stretch of constant weather and demand up to its `end` [s]: m3/s, g/m3, Pa s, kg/m3, degC. `solids` are the raw
# water's, `dosed` what coagulant adds to all that goes into the train.
FORCING = _record("end flow solids dosed viscosity density temperature")

# A stage: one or more equal vessels side by side. `fine_share`: of the fine solids that arrive, the part that stays
# fine; `passes_raw` 1 where its water goes round it while no vessel is in service; `inhibit` 1 where a pressure drop
# does not count while fewer than `sharing` are; a switch reads means over `sample` [s] (0: no switch) with a standard
# `error` and a `reset` difference [Pa]. State: vessels `serving`; `spike` [Pa] on the signal up to
# `spike_until` and more up to `jolt_until` [s]; flow `through` it in this piece. Water that went round it: on its way
# to service (`bypass_*`), and all of it (`round_*`).
STAGE = _record(
    "fine_share limit start_height start_length jolt_height jolt_length spike_until jolt_until spike through "
    "sample error reset breach_total unavoidable_total bypass_total bypass_time round_volume round_solids",
    "first_vessel end_vessel passes_raw inhibit sharing serving cascades first_error",
)
# A vessel, its constants first. `displaced`: m3 filtered since the wash after which nothing of the wash is left in
# it; `valve` in Pa/(m3/s)2; `seen` 1 where the gauge sees it; `settle_load`: pending load [g/m2] past which the cells
# are brought up to date; `ergun_*`: coefficients of the expanded bed; `factor_*`: the flow and viscosity that the
# cleaning factors of its parts are for. `follows_water` 1 where what some layer captures depends on the viscosity,
# from the `reference_viscosity` on.
# Its state. In this piece: `flow` through the bed, `drawn` by a step of its wash. `pending`: load that entered the
# bed since its cells were last brought up to date, `passed`: what of it left again [g/m2]; `capture` and `ultimate`:
# the factors under which it entered; `bed_viscosity`: of the water whose coefficients its layers have [Pa s].
# `bound_*`: resistance at `bound_load` pending, never below that of the bed before it, and how far past a piece it
# looks; `far_*`: the same of a reading farther off that said too much;
# `read_*` and `older_*`: the last two readings; loads of -inf: none. `owed_*`: the flow [m3/s] and the forcing row at
# which a peak is yet to be noted, a flow of 0: none. `gone_*`: vessel and pore volumes of the wash's
# water that have left since. In a wash `wash_*` and the rates are those of its step; `pulls` 1 where its water comes
# through the stages before. `crossed` 1 once the signal itself is above its set point, `switched` 1 while the switch
# is on, `summed` [Pa s] what it has seen since its last reading; `broken` 1 once its filter run has broken through.
VESSEL = _record(
    "area rate_exponent reference_rate reference_viscosity slough_exponent mat_share mat_resistance "
    "valve seen vessel_water bed_water displaced porosity_floor settle_load "
    "ergun_viscous ergun_inertial factor_flow factor_viscosity "
    "flow drawn treated filtered load above_since summed volume_set pressure_set hold run_over "
    "pending passed capture ultimate bed_viscosity mat "
    "bound_load bound_viscous bound_inertial bound_step far_load far_viscous far_inertial "
    "read_load read_mat read_viscous read_inertial older_load older_mat older_viscous older_inertial owed_flow "
    "vessel_solids remnant gone_vessel gone_pores slough_solids slough_left "
    "clean_viscous clean_inertial new_viscous new_inertial "
    "wash_flow water_solids loose_rate firm_rate "
    "last_flow last_filterable last_fine "
    "in_total wash_in_total out_total drain_total served_total rinse_total backwash_total slough_total "
    "pulled_total pulled_solids dirty_total dirty_time_total dirty_peak peak_pressure",
    "stage mode raw_wash pulls tanks first_layer end_layer first_part end_part first_edge end_edge edge last_row "
    "follows_water owed_row dirty broken bound_blocked read_blocked older_blocked crossed switched early missed",
)
# A layer, or a sublayer with a coefficient of its own: in the water of the bed, and as its `reference` has it.
LAYER = _record("coefficient reference viscosity_exponent ultimate depth", "first_cell end_cell")
# A part of a medium whose grains are alike, as a wash sees it, and the pools of its solids [g/m2] during one;
# `base_*`: what the last wash left; `cleaning`: factor on the rates. Its cells all lie in layer row `layer`;
# `first_mate` to `end_mate` are the parts of its medium.
PART = _record(
    "depth grain_size sphericity porosity grain_density firm_share base_total base_firm loose firm cleaning",
    "layer first_cell end_cell first_mate end_mate",
)
# `node`: depth of the cell's lower face below its layer's top [m]; `filling`: deposit that would fill it [g/m2];
# `viscous` [1/m] and `inertial` [-]: coefficient and depth over grain size; `gain` of linear growth [1/m per g/m2].
# `deposit` above the node [g/m2] and the node's `room`, 1 - e^-a: its share of capture that is still to be had.
CELL = _record("node porosity filling viscous inertial gain deposit room")
# Piece boundary in m3 filtered since the wash, and the mean ripening factor of the piece that ends there.
EDGE = _record("filtered ripening")

# What one piece brings each vessel and what leaves it: loads [g] over the piece, concentrations [g/m3] at its end,
# loads per area [g/m2] since the cells were brought up to date; `peaks` 1 where it may set a new peak of pressure;
# `mode`: what the vessel is doing, kept while the train is asked what it would deliver without a wash.
LEG = _record(
    "ripe_capture in_filterable in_fine offered remnant_out gone_vessel gone_pores slough_out fine_out "
    "out_filterable out_fine end_filterable end_fine bed_in bed_out base_out base_end "
    "viscous inertial since share first middle last span",
    "blocked peaks mode",
)
# The water ahead of each stage over a piece: mean concentrations and those at its end [g/m3]; `out_end`: solids of
# what its vessels send on at the end. One row more than stages: the last is the water that leaves the train.
WATER = _record("filterable fine filterable_end fine_end out_end")
# The unit downstream and its tank [m3, m3/s]; `feed_limit` in g/m3. State: `level`, and where it is bound for (`aim`)
# at `due` [s]; `running` between its levels, `held` by so many washes, `drawing` water now, `starved` of it;
# `withheld`: product that washes have kept from the tank since it was last full.
UNIT = _record(
    "feed_flow recovery volume start_below stop_above feed_limit level aim due withheld "
    "run_time held_time starved_time fed_total fed_solids over_time product_total",
    "exists running held drawing starved starts starves",
)
# `share_limit`: most by which the flow of a vessel may change within a piece [-]; `delivery` and `other_loss` are the
# pump's. `fed_total` and `dosed_total`: solids of the raw water that the train drew, and those dosed to it [g].
CONTROL = _record(
    "service asked share_limit delivery other_loss unmet_total unmet_by_washing_total demand_total delivered_total "
    "fed_total dosed_total",
    "shared row jolt pieces readings settlings calls stalled",
)
PUMP = _record("flow pressure")  # points of the curve; none: any flow asked for is reached
JOLT = _record("time", "stage")  # a valve moves elsewhere
NOISE = _record("error")  # standard normal errors, taken by the number of a reading and over again at the end
TABLES = {
    "forcing": FORCING,
    "jolt": JOLT,
    "noise": NOISE,
    "pump": PUMP,
    "control": CONTROL,
    "unit": UNIT,
    "stage": STAGE,
    "vessel": VESSEL,
    "layer": LAYER,
    "part": PART,
    "cell": CELL,
    "edge": EDGE,
    "leg": LEG,
    "water": WATER,
    "probe": LEG,
    "trial": WATER,
}


def rows(dtype: np.dtype[Any], values: Sequence[Mapping[str, float]] | int) -> np.ndarray[Any, np.dtype[Any]]:
    """A structured array of `dtype`, zero except for the named values of each row."""
    count = values if isinstance(values, int) else len(values)
    array = np.zeros(count, dtype=dtype)
    if not isinstance(values, int):
        for row, given in zip(array, values, strict=True):
            for name, value in given.items():
                row[name] = value
    return array
