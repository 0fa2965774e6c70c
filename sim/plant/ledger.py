"""The books of a run: the KPIs of stages and site, and the balances that must close."""

import math
from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias

from sim.case.chemistry.records import SOLUTES, Carbon, Limits, Resin, Solute
from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.plant.errors import LedgerError
from sim.plant.layout import FREE, HARDNESS, IRON, MANGANESE, PERMANGANATE, SALT, SOLUTE_COUNT
from sim.plant.line import Line
from sim.plant.recorder import HOUR, KILO, Recorder
from sim.plant.records import Cause, Figure, FilterRun, Way

MINUTE, YEAR = 60.0, 365.25 * 86_400.0
CLOSES_TO = 1e-9
LEAST_SOLIDS, LEAST_WATER = 1e-3, 1e-3  # g and m3: what counts as nothing in a relative comparison
NO_LIMITS = Limits()
Row: TypeAlias = dict[str, Any]  # floats and counts by name
OF_A_STUDY: dict[str, Figure] = {"bad_year_share": None, "cost": None}  # many runs tell it, prices do
SUMMED_CHEMISTRY = (
    "regenerations", "regenerations_without", "salt_kg", "permanganate_kg", "brine_m3", "displacement_m3",
    "makeup_m3", "hardness_leak_kg",
)  # fmt: skip
CHEMISTRY = (
    *SUMMED_CHEMISTRY, "capacity_lost_fraction", "hardness_over_h", "iron_over_h", "manganese_over_h",
    "oxidant_over_h", "oxidant_exposure_g_h_m3", "oxidant_peak_mg_l", "carbon_life_y",
)  # fmt: skip
LAST_KNOWN = (
    "hardness_over_h", "iron_over_h", "manganese_over_h", "oxidant_over_h", "capacity_lost_fraction",
)  # fmt: skip
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
        self.dissolves = self.control["dissolves"] == 1
        self.met, self.portions, self.uptakes, self.taken = (
            line.read(kind) if self.dissolves else [] for kind in ("met", "portion", "uptake", "taken")
        )

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
    formed = p["formed_total"] + _total(mine, "formed_total")
    drain = math.fsum(_total(mine, f"{way}_total") for way in ("backwash", "rinse", "brine", "leaked"))
    slow = _total(mine, "slow_total")
    served = _total(mine, "served_total")
    figures: dict[str, Figure] = {
        "washes": sum(recorder.washes[i] for i in vessels),
        "treated_m3": served,
        "backwash_m3": _total(mine, "backwash_total"),
        "rinse_m3": _total(mine, "rinse_total") - slow,
        "drain_m3": drain,
        "drain_peak_m3_h": max(recorder.peak_drain[i] for i in vessels) * HOUR,
        "drain_fraction": drain / (served + drain) if served + drain > 0.0 else None,
        "downtime_h": math.fsum(recorder.off_line[i] + off_line[i] for i in vessels) / HOUR,
        "waits": sum(recorder.waits[i] for i in vessels),
        "waited_h": math.fsum(recorder.waiting[i] for i in vessels) / HOUR,
        "unmet_m3": None,
        "unmet_by_washing_m3": None,
        "wash_short_fraction": _least([share for i in vessels for share in recorder.shares[i]]),
        "over_limit_h": p["over_limit_total"] / HOUR if limited else None,
        "over_limit_unavoidable_h": p["unavoidable_total"] / HOUR if limited else None,
        "solids_in_kg": (_total(mine, "in_total") + _total(mine, "wash_in_total") - p["formed_total"]) / KILO,
        "solids_dosed_kg": None,
        "solids_formed_kg": formed / KILO if books.dissolves else None,
        "solids_to_service_kg": _total(mine, "out_total") / KILO,
        "solids_to_drain_kg": (_total(mine, "drain_total") + _total(mine, "spilt_total")) / KILO,
        "solids_held_kg": math.fsum(books.held[i] for i in vessels) / KILO,
        "dirty_water_kg": _total(mine, "dirty_total") / KILO if limited else None,
        "dirty_water_min": _total(mine, "dirty_time_total") / MINUTE if limited else None,
        "dirty_water_peak_mg_l": max(x["dirty_peak"] for x in mine) if limited else None,
        "bypass_kg": p["bypass_total"] / KILO if p["passes_raw"] else None,
        "bypass_min": p["bypass_time"] / MINUTE if p["passes_raw"] else None,
        "peak_dp_kpa": max(x["peak_pressure"] for x in mine) / KILO,
        "early_triggers": sum(x["early"] for x in mine),
        "missed_triggers": sum(x["missed"] for x in mine),
        "cascades": p["cascades"] if stage.vessels.sharing > 1 else None,
        **_run_figures([run for run in runs if run.stage == stage.name], limited or _is_limited(stage, books)),
        **_chemistry(case, books, recorder, k, runs),
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
    summed = ("backwash_m3", "rinse_m3", "downtime_h", "waited_h", "solids_to_drain_kg", "solids_held_kg")
    counted = ("washes", "waits", "early_triggers", "missed_triggers")
    known = ("bypass_kg", "bypass_min", "cascades")
    alone = len(stages) == 1  # no mean over unlike filters
    return {
        **last,
        **{key: judged[key] for key in ("over_limit_h", "over_limit_unavoidable_h", "breakthrough_risk")},
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
        "solids_in_kg": max(_solids_in(books) - dosed - _formed_first(books), 0.0) / KILO,
        "solids_dosed_kg": None if case.feed.coagulant is None else dosed / KILO,
        "solids_formed_kg": _formed(books) / KILO if books.dissolves else None,
        "solids_to_service_kg": _solids_out(books, len(stages) - 1) / KILO,
        "peak_dp_kpa": max(_number(stage, "peak_dp_kpa") for stage in stages),
        "mean_run_h": last["mean_run_h"] if alone else None,
        "unused_capacity": last["unused_capacity"] if alone else None,
        **_cause_shares(recorder.runs),
        **_site_chemistry(case, books, stages),
        **_unit_figures(case, books),
    }


def solute_ledger(case: Case, books: Books) -> dict[str, dict[Solute, dict[Way, float]]]:
    """What became of everything dissolved, by stage or "site", by solute and by way [kg]; empty where nothing is.

    in + dosed + formed = to_service + to_drain + held + converted.
    """
    if not books.dissolves:
        return {}
    found = {stage.name: _stage_solutes(books, k) for k, stage in enumerate(case.stages)}
    site: dict[Solute, dict[Way, float]] = {}
    for n, solute in enumerate(SOLUTES):
        by_stage = [found[stage.name][solute] for stage in case.stages]
        site[solute] = {way: math.fsum(each[way] for each in by_stage) for way in by_stage[0]}
        header = math.fsum(p["wash_in_total"] - p["pulled_total"] for p in books.portions[n::SOLUTE_COUNT])
        site[solute]["in"] = (books.met[n]["fed_total"] + header) / KILO
        site[solute]["to_service"] = by_stage[-1]["to_service"]
    return {**found, "site": site}


def _stage_solutes(books: Books, k: int) -> dict[Solute, dict[Way, float]]:
    """The ledger of stage k, the water round it included."""
    p = books.stages[k]
    ledger: dict[Solute, dict[Way, float]] = {}
    for n, solute in enumerate(SOLUTES):
        met = books.met[k * SOLUTE_COUNT + n]
        mine = [books.portions[i * SOLUTE_COUNT + n] for i in range(p["first_vessel"], p["end_vessel"])]
        behind = _total(mine, "in_total") + _total(mine, "pulled_total") + met["round_total"]
        header = _total(mine, "wash_in_total") - _total(mine, "pulled_total")
        bed = math.fsum(_held_by_bed(books, i, n) for i in range(p["first_vessel"], p["end_vessel"]))
        ledger[solute] = {
            "in": behind - met["dosed_total"] - met["formed_total"] + met["converted_total"] + header,
            "dosed": met["dosed_total"],
            "formed": met["formed_total"],
            "to_service": _total(mine, "out_total") + met["round_total"],
            "to_drain": _total(mine, "drain_total"),
            "held": _total(mine, "content") + bed,
            "converted": met["converted_total"] + _total(mine, "converted_total"),
        }
    return {solute: {way: mass / KILO for way, mass in ways.items()} for solute, ways in ledger.items()}


def _held_by_bed(books: Books, i: int, n: int) -> float:
    """What the beds of vessel i hold of solute n, above what they held as the run began [g]."""
    s = books.vessels[i]
    rows = [books.taken[u * SOLUTE_COUNT + n] for u in range(s["first_uptake"], s["end_uptake"])]
    closed = _total(rows, "locked") - float(s["whole_area"] - s["area"]) * _total(rows, "first")
    return float(s["area"]) * math.fsum(row["held"] - row["first"] for row in rows) + closed


def _first(books: Books, s: Row) -> float:
    """What the beds of a vessel held of everything as the run began [g/m2]."""
    rows = range(s["first_uptake"] * SOLUTE_COUNT, s["end_uptake"] * SOLUTE_COUNT)
    return math.fsum(books.taken[row]["first"] for row in rows)


def _is_limited(stage: Stage, books: Books) -> bool:
    """Whether something dissolved is followed and has a limit behind this stage."""
    return books.dissolves and stage.limits != NO_LIMITS


def _formed_first(books: Books) -> float:
    """Floc formed ahead of the first stage [g]."""
    return float(books.stages[0]["formed_total"] + books.stages[0]["formed_round"])


def _formed(books: Books) -> float:
    """All floc [g]: in the water ahead of stages and on grains."""
    water = _total(books.stages, "formed_total") + _total(books.stages, "formed_round")
    return water + _total(books.vessels, "formed_total")


def _chemistry(
    case: Case, books: Books, recorder: Recorder, k: int, runs: Sequence[FilterRun]
) -> dict[str, Figure]:
    """What regenerations took, and how long what is dissolved was over its limits; None where a stage has none."""
    figures: dict[str, Figure] = dict.fromkeys(CHEMISTRY)
    if not books.dissolves:
        return figures
    p, stage, mine = books.stages[k], case.stages[k], books.vessels_of(k)
    vessels = range(p["first_vessel"], p["end_vessel"])
    for n, key in ((HARDNESS, "hardness"), (IRON, "iron"), (MANGANESE, "manganese"), (FREE, "oxidant")):
        met = books.met[k * SOLUTE_COUNT + n]
        if not math.isnan(met["limit"]):
            figures[f"{key}_over_h"] = met["over_total"] / HOUR
    if any(step.do in ("regenerant", "make-up") for step in stage.steps):
        figures |= {
            "regenerations": sum(recorder.regenerations[i] for i in vessels),
            "regenerations_without": sum(recorder.without[i] for i in vessels),
            "brine_m3": _total(mine, "brine_total"),
            "displacement_m3": _total(mine, "slow_total"),
            "makeup_m3": math.fsum(recorder.make_up[i] for i in vessels),
        }
        left = [x.capacity_left for x in runs if x.stage == stage.name and x.cause and x.capacity_left is not None]
        figures["capacity_lost_fraction"] = math.fsum(left) / len(left) if left else None
    figures["carbon_life_y"] = _carbon_life(stage, books, k)
    brines = [step for step in stage.steps if step.do == "regenerant"]
    if any(step.salt is not None or step.permanganate is None for step in brines):
        figures["salt_kg"] = _drawn(books, vessels, SALT) / KILO
    dosed = books.met[k * SOLUTE_COUNT + PERMANGANATE]["dosed_total"]
    if dosed > 0.0 or any(step.permanganate is not None for step in brines):
        figures["permanganate_kg"] = (dosed + _drawn(books, vessels, PERMANGANATE)) / KILO
    if any(isinstance(layer.uptake, Resin) for layer in stage.layers):
        rows = [books.portions[i * SOLUTE_COUNT + HARDNESS] for i in vessels]
        round_it = books.met[k * SOLUTE_COUNT + HARDNESS]["round_total"]
        figures["hardness_leak_kg"] = (_total(rows, "out_total") + round_it) / KILO
    return figures


def _drawn(books: Books, vessels: Iterable[int], n: int) -> float:
    """What regenerants have brought of solute n [g]."""
    rows = [books.portions[i * SOLUTE_COUNT + n] for i in vessels]
    return _total(rows, "wash_in_total") - _total(rows, "pulled_total")


def _carbon_life(stage: Stage, books: Books, k: int) -> Figure:
    """Years until the carbon of stage k would pass its limit in its worst hour; None where that is not known.

    Its half-lengths grow by a yearly factor: of what the worst hour let through by the factor 2^-e, e falls by it.
    Never more than its capacity would last at the pace of the run.
    """
    met = books.met[k * SOLUTE_COUNT + FREE]
    carbons = [layer.uptake for layer in stage.layers if isinstance(layer.uptake, Carbon)]
    growth = [carbon.growth for carbon in carbons if carbon.growth is not None]
    if not growth or len(growth) < len(carbons) or math.isnan(met["limit"]) or books.time <= 0.0:
        return None
    mine = [u for u in books.uptakes if books.vessels[u["vessel"]]["stage"] == k and u["used"] > 0.0]
    lasts = min((u["capacity"] * u["depth"] / u["used"] for u in mine), default=math.inf) * books.time / YEAR
    if met["peak"] >= met["limit"]:
        return 0.0
    if met["peak"] <= 0.0 or met["peak_in"] <= met["limit"] or max(growth) <= 0.0:
        return lasts if lasts < math.inf else None
    factor = math.log(met["peak_in"] / met["peak"]) / math.log(met["peak_in"] / met["limit"])
    return min(math.log(factor) / math.log1p(max(growth)), lasts)


def _site_chemistry(case: Case, books: Books, stages: Sequence[dict[str, Figure]]) -> dict[str, Figure]:
    """Sums over the stages that have one; time over a limit of the last stage that has it; at the unit, exposure."""
    figures: dict[str, Figure] = {key: _sum_of_known(stages, key) for key in SUMMED_CHEMISTRY}
    figures["carbon_life_y"] = _least(stage["carbon_life_y"] for stage in stages)
    for key in LAST_KNOWN:
        figures[key] = next((stage[key] for stage in reversed(stages) if stage[key] is not None), None)
    oxidants = any(stage.dosing is not None and stage.dosing.product != "air" for stage in case.stages)
    if oxidants or {"free_chlorine", "combined_chlorine"} & {name for name, _ in case.feed.solutes}:
        figures["oxidant_exposure_g_h_m3"] = books.unit["exposure"] / HOUR
        figures["oxidant_peak_mg_l"] = books.unit["oxidant_peak"]
    return figures


def check_balances(case: Case, books: Books, stages: Sequence[dict[str, Figure]], site: dict[str, Figure]) -> None:
    """Raise LedgerError unless water and solids close to 1e-9 for every stage and for the site.

    In and dosed are to be what was sent to service, drained and held; what was fed and dosed, what the train took up.
    """
    for stage, figures in zip(case.stages, stages, strict=True):
        _close_solids(f"stage {stage.name!r}", figures)
    _close_solids("the site", site)
    fed = books.control["fed_total"] + books.control["dosed_total"] + _formed_first(books)
    _close("the site", "solids of the feed", "g", fed, _solids_fed(books), LEAST_SOLIDS)
    _close_solutes(case, books)
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
    drawn = math.fsum(_total(mine, f"{way}_total") for way in ("rinse", "pulled", "leaked"))
    return _total(mine, "served_total") + drawn + float(books.stages[k]["round_volume"])


def _close_solids(where: str, figures: dict[str, Figure]) -> None:
    out = sum(_number(figures, f"solids_{way}_kg") for way in ("to_service", "to_drain", "held"))
    came = math.fsum((figures[f"solids_{way}_kg"] or 0.0) for way in ("in", "dosed", "formed"))
    _close(where, "solids", "g", came * KILO, out * KILO, LEAST_SOLIDS)


def _close_solutes(case: Case, books: Books) -> None:
    """What came in, was dosed and formed is to be what was sent on, drained, held and converted."""
    if not books.dissolves:
        return
    ledger = solute_ledger(case, books)
    stock = math.fsum(s["area"] * _first(books, s) for s in books.vessels)
    for where, solutes in ledger.items():
        for solute, ways in solutes.items():
            came = math.fsum(ways[way] for way in ("in", "dosed", "formed"))
            went = math.fsum(ways[way] for way in ("to_service", "to_drain", "held", "converted"))
            place = "the site" if where == "site" else f"stage {where!r}"
            _close(place, solute, "g", came * KILO, went * KILO, max(LEAST_SOLIDS, stock))


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
