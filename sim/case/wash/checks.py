"""What the keys of the supply, the drain and a restrictor say together.

A check yields one finding for every contradiction of its kind; `checks` says what happens where a table lacks some
values.
"""

from itertools import pairwise

from sim.case.mistakes import Finding, Findings
from sim.case.schema import CaseFile
from sim.case.units import HOUR


def supply_is_told_once(case: CaseFile) -> Findings:
    """Pressures at flows, or one pressure with a limit."""
    supply = case.supply
    if supply is None:
        return
    if supply.flow is None and supply.limit is None:
        yield Finding(("supply",), "no flow", "flow or limit", 'limit = "15 m3/h" beside the one pressure')
    elif supply.flow is not None and supply.limit is not None:
        yield Finding(("supply", "limit"), "limit beside flow", "one of the two", "leaving one out")
    elif supply.limit is not None and isinstance(supply.pressure, list):
        yield Finding(
            ("supply", "pressure"),
            f"{len(supply.pressure)} pressures with a limit",
            "one pressure with a limit, or pressures at flows",
            "one pressure, or flow = [...] in place of limit",
        )
    elif supply.flow is not None and len(supply.flow) != _count(supply.pressure):
        yield Finding(
            ("supply", "pressure"),
            f"{_count(supply.pressure)} of them for {len(supply.flow)} flows",
            "one pressure for each flow",
            "pressures and flows in pairs, in the same order",
        )


def _count(pressure: float | list[float]) -> int:
    return 1 if isinstance(pressure, float) else len(pressure)


def supply_is_a_curve(case: CaseFile) -> Findings:
    """Flows rise from nothing, and no pressure rises with them."""
    supply = case.supply
    if supply is None or supply.flow is None:
        return
    flows = supply.flow
    if flows[0] != 0.0:
        yield Finding(
            ("supply", "flow"),
            f"{flows[0] * HOUR:.4g} m3/h as the first flow",
            "flows that begin with 0 m3/h",
            "the pressure at no flow as the first of the pairs",
        )
    for less, more in pairwise(flows):
        if not less < more:
            yield Finding(
                ("supply", "flow"),
                f"{more * HOUR:.4g} m3/h after {less * HOUR:.4g} m3/h",
                "flows that rise",
                "the pairs in the order of their flows",
            )
            break
    pressures = supply.pressure
    if isinstance(pressures, list) and any(more > less for less, more in pairwise(pressures)):
        yield Finding(
            ("supply", "pressure"),
            "a pressure above the one before it",
            "pressures that fall with the flow, or stay",
            "the falling part of the curve only",
        )


def sump_has_a_limit(case: CaseFile) -> Findings:
    sump = None if case.drain is None else case.drain.sump
    if sump is not None and sump.flow_limit is None and sump.daily_limit is None:
        yield Finding(
            ("drain", "sump"),
            "no limit",
            "flow_limit, daily_limit or both",
            'daily_limit = "40 m3", or leaving the sump out',
        )


OF_CASE = (supply_is_told_once, supply_is_a_curve, sump_has_a_limit)
