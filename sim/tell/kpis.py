"""The figures that a comparison shows: their key in the results, their words, what they are, which way is better."""

from typing import Literal

from plots.words import Term, term
from sim.case.quantities import Better, Quantity
from sim.case.record import record

Shown = Literal["always", "where known", "where met"]


@record
class Kpi:
    """One row of the comparison. `better` is None where the figure describes and does not judge.

    `shown`: always, only where some policy has the figure, or only where it is more than nothing with some policy;
    `under`: whether it is a part of the row above; `table`: the table of terms that has its name.
    """

    key: str
    quantity: Quantity
    better: Better | None
    shown: Shown = "always"
    under: bool = False
    table: Literal["figure", "ledger"] = "figure"

    @property
    def words(self) -> Term:
        """What it is called."""
        return term(self.table, self.key)


def _row(
    key: str, quantity: Quantity, better: Better | None, shown: Shown = "always", *, under: bool = False,
    table: Literal["figure", "ledger"] = "figure",
) -> Kpi:  # fmt: skip
    return Kpi(key=key, quantity=quantity, better=better, shown=shown, under=under, table=table)


# The unit downstream: what it did, and what reached it.
UNIT: tuple[Kpi, ...] = (
    _row("downstream_run_h", "hours", None, "where known"),
    _row("downstream_starts", "count", "less", "where known", under=True),
    _row("product_m3", "volume", None, "where known", under=True),
    _row("downstream_stopped_h", "hours", "less", "where known"),
    _row("downstream_starved_h", "hours", "less", "where known"),
    _row("downstream_starves", "count", "less", "where known", under=True),
    _row("bypass_min", "minutes", "less", "where known"),
    _row("bypass_kg", "small mass", "less", "where known", under=True),
    _row("downstream_solids_kg", "mass", "less", "where known"),
    _row("downstream_over_min", "minutes", "less", "where known"),
    _row("oxidant_exposure_g_h_m3", "exposure", "less", "where known"),
    _row("oxidant_peak_mg_l", "solids", "less", "where known", under=True),
    _row("cartridges_a_year", "count", "less", "where known"),
)
# The switch and what sets it off beside a loaded bed.
SWITCH: tuple[Kpi, ...] = (
    _row("early_triggers", "count", "less", "where met"),
    _row("missed_triggers", "count", "less", "where met"),
    _row("cascades", "count", "less", "where met"),
)


# What is dissolved: what restores the beds, and what they let through.
CHEMISTRY: tuple[Kpi, ...] = (
    _row("regenerations", "count", None, "where known"),
    _row("regenerations_without", "count", "less", "where met", under=True),
    _row("capacity_lost_fraction", "share", "less", "where known", under=True),
    _row("salt_kg", "mass", "less", "where known"),
    _row("permanganate_kg", "mass", "less", "where known"),
    _row("hardness_over_h", "hours", "less", "where known"),
    _row("hardness_leak_kg", "mass", "less", "where known", under=True),
    _row("iron_over_h", "hours", "less", "where known"),
    _row("manganese_over_h", "hours", "less", "where known"),
    _row("oxidant_over_h", "hours", "less", "where known"),
    _row("carbon_life_y", "years", "more", "where known"),
)

# Told only where the case gives prices.
PRICED = (_row("cost", "money", "less", "where known"),)

# Neither washes nor the mean run has a better side of its own: what a wash costs is in the rows below it.
GROUPS: tuple[tuple[Kpi, ...], ...] = (
    (
        _row("washes", "count", None),
        _row("mean_run_h", "hours", None, "where known"),
        _row("downtime_h", "hours", "less"),
        _row("waits", "count", None, "where met"),
        _row("waited_h", "hours", "less", "where met", under=True),
    ),
    (
        _row("treated_m3", "volume", "more"),
        _row("unmet_m3", "volume", "less"),
        _row("unmet_by_washing_m3", "volume", None, "where met", under=True),
        _row("drain_m3", "volume", "less"),
        _row("drain_fraction", "share", "less", under=True),
    ),
    (
        _row("over_limit_h", "hours", "less"),
        _row("over_limit_unavoidable_h", "hours", None, under=True),
        _row("breakthrough_risk", "share", "less"),
        _row("solids_dosed_kg", "mass", None, "where known"),
        _row("solids_to_service_kg", "mass", "less"),
        _row("dirty_water_min", "minutes", None),
        _row("dirty_water_kg", "small mass", "less", under=True),
        _row("dirty_water_peak_mg_l", "solids", "less", under=True),
    ),
    (
        _row("peak_dp_kpa", "pressure", "less"),
        _row("unused_capacity", "share", None, "where known"),
    ),
    CHEMISTRY,
    UNIT,
    SWITCH,
    PRICED,
)

# Only many runs tell it; it stands behind what is over the limit.
RISK = _row("bad_year_share", "share", "less", under=True)

# In JSON and CSV files alone.
FILED: tuple[Kpi, ...] = (
    _row("drain_peak_m3_h", "flow", None),
    _row("wash_short_fraction", "share", None),
    _row("longest_run_share", "share", None),
    _row("pressure_share", "share", None),
)

KPIS: dict[str, Kpi] = {kpi.key: kpi for group in GROUPS for kpi in group}
CARD = ("drain_m3", "downtime_h", "breakthrough_risk")
"""What every first screen shows."""
DECISIVE = (
    "salt_kg", "hardness_over_h", "iron_over_h", "manganese_over_h", "oxidant_over_h", "oxidant_exposure_g_h_m3",
    "permanganate_kg", "regenerations",
)  # fmt: skip
"""What may decide beside these where the case has chemistry."""

# Where water and solids of one run went; nothing here is better or worse.
LEDGER: tuple[Kpi, ...] = (
    _row("treated_m3", "volume", None, table="ledger"),
    _row("backwash_m3", "volume", None, table="ledger"),
    _row("rinse_m3", "volume", None, table="ledger"),
    _row("brine_m3", "volume", None, "where known", table="ledger"),
    _row("displacement_m3", "volume", None, "where known", table="ledger"),
    _row("drain_m3", "volume", None, table="ledger"),
    _row("makeup_m3", "volume", None, "where known", table="ledger"),
    _row("solids_in_kg", "mass", None, table="ledger"),
    _row("solids_dosed_kg", "mass", None, "where known", table="ledger"),
    _row("solids_formed_kg", "mass", None, "where known", table="ledger"),
    _row("solids_to_service_kg", "mass", None, table="ledger"),
    _row("solids_to_drain_kg", "mass", None, table="ledger"),
    _row("solids_held_kg", "mass", None, table="ledger"),
)

EVERY: dict[str, Kpi] = KPIS | {kpi.key: kpi for kpi in (*LEDGER, *FILED, RISK) if kpi.key not in KPIS}
"""Every figure of a result."""
