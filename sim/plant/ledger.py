"""The books of a run: the KPIs of stages and site, and the balances that must close."""

import math
from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias

from sim.case.records import Case
from sim.plant.errors import LedgerError
from sim.plant.line import Line
from sim.plant.recorder import HOUR, KILO, Recorder
from sim.plant.records import Cause, Figure, FilterRun

MINUTE, YEAR = 60.0, 365.25 * 86_400.0
CLOSES_TO = 1e-9
LEAST_SOLIDS, LEAST_WATER = 1e-3, 1e-3  # g and m3: what counts as nothing in a relative comparison
Row: TypeAlias = dict[str, Any]  # floats and counts by name
OF_A_STUDY: dict[str, Figure] = {"bad_year_share": None, "cost": None}  # many runs tell it, prices do
UNIT_FIGURES = (
    "downstream_run_h", "downstream_stopped_h", "downstream_starved_h", "downstream_starts", "downstream_starves",
    "downstream_over_min", "cartridges_a_year", "product_m3",
)  # fmt: skip


class Books:
    """What every row of a line says, as plain numbers, and the solids that each vessel holds [g]: read once."""

    def __init__(self, line: Line) -> None:
        self.time = line.time
        self.vessels, self.stages = line.read("vessel"), line.read("stage")
        (self.control,), (self.unit,) = line.read("control"), line.read("unit")
        self.held = [line.held(i) for i in range(len(self.vessels))]

    def vessels_of(self, k: int) -> list[Row]:
        """The rows of the vessels of stage k."""
        return self.vessels[self.stages[k]["first_vessel"] : self.stages[k]["end_vessel"]]


def stage_figures(
    case: Case, books: Books, recorder: Recorder, k: int, runs: Sequence[FilterRun], off_line: Sequence[float]
) -> dict[str, Figure]:
    """The KPIs of stage k; solids in kg, water in m3, times in h; None where a figure does not apply.

    runs: all filter runs, those that the end of the simulation cut short included; off_line: seconds of a wash that
    it cut short, for every vessel of the line.
    """
    p, mine = books.stages[k], books.vessels_of(k)
    vessels = range(p["first_vessel"], p["end_vessel"])
    stage, limited = case.stages[k], case.stages[k].limit is not None
    drain = _total(mine, "backwash_total") + _total(mine, "rinse_total")
    served = _total(mine, "served_total")
    figures: dict[str, Figure] = {
        "washes": sum(recorder.washes[i] for i in vessels),
        "treated_m3": served,
        "backwash_m3": _total(mine, "backwash_total"),
        "rinse_m3": _total(mine, "rinse_total"),
        "drain_m3": drain,
        "drain_peak_m3_h": max(recorder.peak_drain[i] for i in vessels) * HOUR,
        "drain_fraction": drain / (served + drain) if served + drain > 0.0 else None,
        "offline_h": math.fsum(recorder.off_line[i] + off_line[i] for i in vessels) / HOUR,
        "waits": sum(recorder.waits[i] for i in vessels),
        "waited_h": math.fsum(recorder.waiting[i] for i in vessels) / HOUR,
        "unmet_m3": None,
        "unmet_by_washing_m3": None,
        "wash_short_fraction": _least([share for i in vessels for share in recorder.shares[i]]),
        "breach_h": p["breach_total"] / HOUR if limited else None,
        "breach_unavoidable_h": p["unavoidable_total"] / HOUR if limited else None,
        "solids_in_kg": (_total(mine, "in_total") + _total(mine, "wash_in_total")) / KILO,
        "solids_dosed_kg": None,
        "solids_to_service_kg": _total(mine, "out_total") / KILO,
        "solids_to_drain_kg": _total(mine, "drain_total") / KILO,
        "solids_held_kg": math.fsum(books.held[i] for i in vessels) / KILO,
        "dirty_return_kg": _total(mine, "dirty_total") / KILO if limited else None,
        "dirty_return_min": _total(mine, "dirty_time_total") / MINUTE if limited else None,
        "dirty_return_peak_mg_l": max(x["dirty_peak"] for x in mine) if limited else None,
        "bypass_kg": p["bypass_total"] / KILO if p["passes_raw"] else None,
        "bypass_min": p["bypass_time"] / MINUTE if p["passes_raw"] else None,
        "peak_dp_kpa": max(x["peak_pressure"] for x in mine) / KILO,
        "early_triggers": sum(x["early"] for x in mine),
        "missed_triggers": sum(x["missed"] for x in mine),
        "cascades": p["cascades"] if stage.vessels.sharing > 1 else None,
        **_run_figures([run for run in runs if run.stage == stage.name], limited),
        **dict.fromkeys(UNIT_FIGURES),
        "downstream_solids_kg": None,
        **OF_A_STUDY,
    }
    return figures


def site_figures(
    case: Case, books: Books, recorder: Recorder, stages: Sequence[dict[str, Figure]]
) -> dict[str, Figure]:
    """The KPIs of the site: sums over stages, or the last stage's where it is what the site sends on.

    What is over the limit is that of the stage whose water a verdict goes by.
    """
    last, judged = stages[-1], stages[case.stages.index(case.judged)]
    drain = _sum(stages, "drain_m3")
    treated, dosed = books.control["delivered_total"], books.control["dosed_total"]
    summed = ("backwash_m3", "rinse_m3", "offline_h", "waited_h", "solids_to_drain_kg", "solids_held_kg")
    counted = ("washes", "waits", "early_triggers", "missed_triggers")
    known = ("bypass_kg", "bypass_min", "cascades")
    alone = len(stages) == 1  # no mean over unlike filters
    return {
        **last,
        **{key: judged[key] for key in ("breach_h", "breach_unavoidable_h", "breakthrough_risk")},
        **{key: _sum(stages, key) for key in summed},
        **{key: int(_sum(stages, key)) for key in counted},
        **{key: _sum_of_known(stages, key) for key in known},
        "treated_m3": treated,
        "drain_m3": drain,
        "drain_peak_m3_h": recorder.site_peak_drain * HOUR,
        "drain_fraction": drain / (treated + drain) if treated + drain > 0.0 else None,
        "unmet_m3": books.control["unmet_total"],
        "unmet_by_washing_m3": books.control["unmet_by_washing_total"],
        "wash_short_fraction": _least([stage["wash_short_fraction"] for stage in stages]),
        "solids_in_kg": max(_solids_in(books) - dosed, 0.0) / KILO,
        "solids_dosed_kg": None if case.feed.coagulant is None else dosed / KILO,
        "solids_to_service_kg": _solids_out(books, len(stages) - 1) / KILO,
        "peak_dp_kpa": max(_number(stage, "peak_dp_kpa") for stage in stages),
        "mean_run_h": last["mean_run_h"] if alone else None,
        "unused_capacity": last["unused_capacity"] if alone else None,
        **_cause_shares(recorder.runs),
        **_unit_figures(case, books),
    }


def check_balances(case: Case, books: Books, stages: Sequence[dict[str, Figure]], site: dict[str, Figure]) -> None:
    """Raise LedgerError unless water and solids close to 1e-9 for every stage and for the site.

    In and dosed are to be what was sent to service, drained and held; what was fed and dosed, what the train took up.
    """
    for stage, figures in zip(case.stages, stages, strict=True):
        _close_solids(f"stage {stage.name!r}", figures)
    _close_solids("the site", site)
    fed = books.control["fed_total"] + books.control["dosed_total"]
    _close("the site", "solids of the feed", "g", fed, _solids_fed(books), LEAST_SOLIDS)
    for k in range(len(stages) - 1):
        arrives = _water_in(books, k + 1)
        _close(f"stage {case.stages[k].name!r}", "water", "m3", _water_out(books, k), arrives, LEAST_WATER)
    served = _number(site, "treated_m3")
    _close("the site", "water through the last stage", "m3", _water_out(books, len(stages) - 1), served, LEAST_WATER)
    asked, unmet = books.control["demand_total"], _number(site, "unmet_m3")
    if books.unit["exists"]:
        first = case.downstream.unit.tank.level if case.downstream and case.downstream.unit else 0.0
        product, stored = books.unit["product_total"], books.unit["level"] - first
        _close("the tank", "product", "m3", product, asked - unmet + stored, max(LEAST_WATER, asked))
    else:
        _close("the site", "water asked for", "m3", asked, served + unmet, LEAST_WATER)


def _unit_figures(case: Case, books: Books) -> dict[str, Figure]:
    """The KPIs of the unit downstream; its solids are known wherever the use of the water is."""
    u, below = books.unit, case.downstream
    figures: dict[str, Figure] = dict.fromkeys(UNIT_FIGURES)
    solids = u["fed_solids"]
    figures["downstream_solids_kg"] = None if below is None else solids / KILO
    if not math.isnan(u["feed_limit"]):
        figures["downstream_over_min"] = u["over_time"] / MINUTE
    if below is not None and below.cartridge is not None and books.time > 0.0:
        caught = below.cartridge.share * solids
        figures["cartridges_a_year"] = caught / below.cartridge.capacity * YEAR / books.time
    if u["exists"]:
        figures |= {
            "downstream_run_h": u["run_time"] / HOUR,
            "downstream_stopped_h": u["held_time"] / HOUR,
            "downstream_starved_h": u["starved_time"] / HOUR,
            "downstream_starts": u["starts"],
            "downstream_starves": u["starves"],
            "product_m3": u["product_total"],
        }
    return figures


def _solids_in(books: Books) -> float:
    """What crosses the boundary of the site [g]: the feed, what is dosed to it, and what other wash water brings."""
    first, every = books.vessels_of(0), books.vessels
    washes = _total(every, "wash_in_total") - _total(every, "pulled_solids")
    pulled = _total(first, "pulled_solids")  # a wash of the first stage through the stages before it: the feed itself
    return _solids_fed(books) + washes + pulled


def _solids_fed(books: Books) -> float:
    """What the feed brings to the first stage with all that is dosed to it [g], by its vessels and round them."""
    return _total(books.vessels_of(0), "in_total") + float(books.stages[0]["round_solids"])


def _solids_out(books: Books, k: int) -> float:
    """What stage k sends on [g], by its vessels and round them."""
    return _total(books.vessels_of(k), "out_total") + float(books.stages[k]["round_solids"])


def _water_out(books: Books, k: int) -> float:
    return _total(books.vessels_of(k), "served_total") + float(books.stages[k]["round_volume"])


def _water_in(books: Books, k: int) -> float:
    mine = books.vessels_of(k)
    drawn = _total(mine, "rinse_total") + _total(mine, "pulled_total")
    return _total(mine, "served_total") + drawn + float(books.stages[k]["round_volume"])


def _close_solids(where: str, figures: dict[str, Figure]) -> None:
    out = sum(_number(figures, f"solids_{way}_kg") for way in ("to_service", "to_drain", "held"))
    came = _number(figures, "solids_in_kg") + (figures["solids_dosed_kg"] or 0.0)
    _close(where, "solids", "g", came * KILO, out * KILO, LEAST_SOLIDS)


def _close(where: str, what: str, unit: str, given: float, found: float, least: float) -> None:
    if not abs(given - found) <= CLOSES_TO * max(abs(given), abs(found), least):
        raise LedgerError(where, what, unit, given, found)


def _run_figures(every: Sequence[FilterRun], limited: bool) -> dict[str, Figure]:
    """Figures over filter runs that a wash ended.

    Of those that the end of the simulation cut short, one that had broken through by then counts to the risk: that
    was before its wash. Of the others nobody knows how they would have ended.
    """
    runs = [run for run in every if run.cause is not None]
    unused = [run.unused_capacity for run in runs if run.unused_capacity is not None]
    broken = sum([run.broke_through for run in every])
    judged = len(runs) + sum([run.broke_through for run in every if run.cause is None])
    return {
        "breakthrough_risk": (broken / judged if judged else 0.0) if limited else None,
        "mean_run_h": math.fsum([run.end_s - run.start_s for run in runs]) / len(runs) / HOUR if runs else None,
        "unused_capacity": math.fsum(unused) / len(unused) if unused else None,
        **_cause_shares(runs),
    }


def _cause_shares(runs: Sequence[FilterRun]) -> dict[str, Figure]:
    """Of the washes that ended these filter runs, how many the longest run started, and how many the switch."""
    causes = {"longest_run_share": Cause.LONGEST_RUN, "pressure_share": Cause.PRESSURE}
    return {
        key: sum([run.cause is cause for run in runs]) / len(runs) if runs else None for key, cause in causes.items()
    }


def _total(rows: Sequence[Row], name: str) -> float:
    return math.fsum(row[name] for row in rows)


def _number(figures: dict[str, Figure], key: str) -> float:
    value = figures[key]
    assert value is not None, key
    return float(value)


def _sum(stages: Sequence[dict[str, Figure]], key: str) -> float:
    return math.fsum(_number(stage, key) for stage in stages)


def _least(values: Iterable[Figure]) -> Figure:
    return min((value for value in values if value is not None), default=None)


def _sum_of_known(stages: Sequence[dict[str, Figure]], key: str) -> Figure:
    known = [_number(stage, key) for stage in stages if stage[key] is not None]
    return math.fsum(known) if known else None
