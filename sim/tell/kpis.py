"""The figures that a comparison shows: their key in the results, their words, what they are, which way is better."""

from typing import Literal

from sim.case.quantities import Better, Quantity
from sim.case.record import record

Shown = Literal["always", "where known", "where met"]


@record
class Kpi:
    """One row of the comparison. `better` is None where the figure describes and does not judge.

    `shown`: always, only where some policy has the figure, or only where it is more than nothing with some policy.
    """

    key: str
    words: str
    quantity: Quantity
    better: Better | None
    shown: Shown = "always"


def _row(key: str, words: str, quantity: Quantity, better: Better | None, shown: Shown = "always") -> Kpi:
    return Kpi(key=key, words=words, quantity=quantity, better=better, shown=shown)


# The unit downstream: what it did, and what reached it.
UNIT: tuple[Kpi, ...] = (
    _row("downstream_run_h", "unit downstream running", "hours", None, "where known"),
    _row("downstream_starts", "  starts of it", "count", "less", "where known"),
    _row("product_m3", "  product of it", "volume", None, "where known"),
    _row("downstream_stopped_h", "unit held while washing", "hours", "less", "where known"),
    _row("downstream_starved_h", "unit starved of water", "hours", "less", "where known"),
    _row("downstream_starves", "  how often", "count", "less", "where known"),
    _row("bypass_min", "raw water sent on while washing", "minutes", "less", "where known"),
    _row("bypass_kg", "  solids in that", "small mass", "less", "where known"),
    _row("downstream_solids_kg", "solids in the unit's feed", "mass", "less", "where known"),
    _row("downstream_over_min", "unit's feed over its own limit", "minutes", "less", "where known"),
    _row("cartridges_a_year", "cartridges a year", "count", "less", "where known"),
)
# The switch and what sets it off beside a loaded bed.
SWITCH: tuple[Kpi, ...] = (
    _row("early_triggers", "washes set off by a spike alone", "count", "less", "where met"),
    _row("missed_triggers", "set point passed without a wash", "count", "less", "where met"),
    _row("cascades", "washes set off by a sister's wash", "count", "less", "where met"),
)


# Told only where the case gives prices.
PRICED = (_row("cost", "cost of a year by the case's prices", "money", "less", "where known"),)

# Neither washes nor the mean run has a better side of its own: what a wash costs is in the rows below it.
GROUPS: tuple[tuple[Kpi, ...], ...] = (
    (
        _row("washes", "washes", "count", None),
        _row("mean_run_h", "mean run", "hours", None, "where known"),
        _row("offline_h", "downtime", "hours", "less"),
        _row("waits", "waits for another vessel", "count", None, "where met"),
        _row("waited_h", "  time waited", "hours", "less", "where met"),
    ),
    (
        _row("treated_m3", "treated water", "volume", "more"),
        _row("unmet_m3", "demand not met", "volume", "less"),
        _row("unmet_by_washing_m3", "  because of washing", "volume", None, "where met"),
        _row("drain_m3", "water to drain", "volume", "less"),
        _row("drain_fraction", "  of all water drawn", "share", "less"),
    ),
    (
        _row("breach_h", "over the limit", "hours", "less"),
        _row("breach_unavoidable_h", "  unavoidable", "hours", None),
        _row("breakthrough_risk", "breakthrough risk", "share", "less"),
        _row("solids_dosed_kg", "solids dosed as coagulant", "mass", None, "where known"),
        _row("solids_to_service_kg", "solids sent to service", "mass", "less"),
        _row("dirty_return_min", "dirty water sent on", "minutes", None),
        _row("dirty_return_kg", "  solids in it", "small mass", "less"),
        _row("dirty_return_peak_mg_l", "  at its dirtiest", "solids", "less"),
    ),
    (
        _row("peak_dp_kpa", "highest pressure drop", "pressure", "less"),
        _row("unused_capacity", "capacity unused at the wash", "share", None, "where known"),
    ),
    UNIT,
    SWITCH,
    PRICED,
)

# Only many runs tell it; it stands behind what is over the limit.
RISK = _row("bad_year_share", "  years with more than allowed", "share", "less")

KPIS: dict[str, Kpi] = {kpi.key: kpi for group in GROUPS for kpi in group}
CARD = ("drain_m3", "offline_h", "breakthrough_risk")
"""What every first screen shows."""

# Where water and solids of one run went; nothing here is better or worse.
LEDGER: tuple[Kpi, ...] = (
    _row("treated_m3", "water to service", "volume", None),
    _row("backwash_m3", "water to drain, backwash", "volume", None),
    _row("rinse_m3", "water to drain, rinse", "volume", None),
    _row("drain_m3", "water to drain, all", "volume", None),
    _row("solids_in_kg", "solids in", "mass", None),
    _row("solids_dosed_kg", "solids dosed as coagulant", "mass", None, "where known"),
    _row("solids_to_service_kg", "solids sent to service", "mass", None),
    _row("solids_to_drain_kg", "solids to drain", "mass", None),
    _row("solids_held_kg", "solids held at the end", "mass", None),
)
